"""Six weeks of records of the imaginary Alder Vale mill, with faults planted in them and told in its description."""
