"""What weighings, counts and looks can tell: probabilities, never bare guesses."""
