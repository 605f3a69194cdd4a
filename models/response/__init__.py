"""The front end's frame, joint loads, attraction curve, load path and vibration modes."""
