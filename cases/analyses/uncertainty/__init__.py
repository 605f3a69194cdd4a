"""How sure the answer is: loads and margins of each joint over everything that scatters."""
