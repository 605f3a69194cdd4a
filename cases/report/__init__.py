"""An analysis written out: a page to read, pictures, tables, meshes and all numbers."""
