"""An invented farm to look at and to test with; every name and figure in it is made up."""
