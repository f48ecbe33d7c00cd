"""How sure a result is: spread of the inputs carried through the doff, which input matters, and fits to readings."""
