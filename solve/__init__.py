"""From a mesh to unit solutions, with the closed forms that prove them."""
