"""Assembly, linear and second-order solution, low-rank updates, mechanisms, slack cables, buckling, vibration, superposition."""
