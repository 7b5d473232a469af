"""What is printed: plain values in, the bytes of a PDF out."""
