"""Beam, cable and corotational elements: kinematics, stiffness and geometric stiffness."""
