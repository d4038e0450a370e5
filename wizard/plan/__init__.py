"""What to do about it: ordered, safe steps; what each changes; and whether it helped."""
