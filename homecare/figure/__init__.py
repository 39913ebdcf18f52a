"""Joint angles to a skeleton, to shapes on paper, to proofs that a drill does what it says; pure, no files."""
