"""How own records move a figure: what they are evidence of, and by how much."""
