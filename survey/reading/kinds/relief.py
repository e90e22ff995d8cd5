"""The relief of the surface from two or more photographs in raking light."""
