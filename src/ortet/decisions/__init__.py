"""What to do next: plain values in, a plain plan out."""
