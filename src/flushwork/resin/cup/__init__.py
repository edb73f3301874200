"""One batch in a cup: what is weighed, with which tools, within which limits."""
