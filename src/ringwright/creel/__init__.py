"""The creel of a frame with its yarn: unwinding tension and brake, and the week in which its bobbins are renewed.

Pure: a mill with the names of a frame and a yarn in, plain frozen data out.
"""
