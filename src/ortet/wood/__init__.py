"""The material as values: lot codes, cuttings, what a bag holds, and the units they are measured in."""
