"""Pure compost science: plain numbers in, plain numbers out, SI units in the names."""
