"""From a mesh file that nobody vouches for to a closed surface, read and mended in a process of its own."""
