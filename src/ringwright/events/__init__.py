"""Break records and running time: read, checked, and either taken or set aside with a reason."""
