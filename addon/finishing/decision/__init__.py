"""The decision: which cutter, which cusp height, how many minutes, how much sanding, and whether it will run free."""
