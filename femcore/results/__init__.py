"""Internal forces, nodal forces, deflected shape and VTU files of a solved frame."""
