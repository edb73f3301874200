"""How a key of a file is declared, once, at the field of the record that it fills."""
