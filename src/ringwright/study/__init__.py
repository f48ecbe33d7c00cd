"""Studies of end breaks: one file for each question; plain numbers in, an answer out."""
