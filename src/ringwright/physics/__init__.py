"""Ring-spinning physics: numbers in, numbers out; knows no mill."""
