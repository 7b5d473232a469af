"""What the test suite needs of a machine, and the run itself: `python3 start.py test`."""
