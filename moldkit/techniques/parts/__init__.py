"""Parts that several techniques share; the folder is not walked for techniques."""
