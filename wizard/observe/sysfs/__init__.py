"""Reading the files in which Linux describes its USB devices, live or captured. Knows no other system."""
