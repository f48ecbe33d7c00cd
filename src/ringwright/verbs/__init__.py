"""The verbs that the doors (command line, pages) may ask for, one module for each kind of work."""
