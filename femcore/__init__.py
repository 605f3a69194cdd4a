"""Beam finite elements: units, materials, sections, laminates, frame, solve, actions, pictures."""
