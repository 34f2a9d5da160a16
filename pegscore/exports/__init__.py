"""Files for every device: what an audience may see, in the formats it can open."""
