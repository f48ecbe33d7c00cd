"""The pages in the browser: a door that parses an address, calls the verbs, and shows what they give."""
