"""What a tag, a lamp or a pin leads to; which fault explains what is seen."""
