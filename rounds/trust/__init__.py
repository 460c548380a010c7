"""Who may say what: keys, signed blocks, what a helper may bring back, which farm it is."""
