"""FACT: what stands where and how it came there. The only room with tables."""
