"""A club's river survey as aligned layers of bed, substrate, depth and flow."""
