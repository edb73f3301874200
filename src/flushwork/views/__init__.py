"""What the book, the page, the phone and the labels all show, as records of words and figures."""
