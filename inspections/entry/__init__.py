"""What is entered by hand without much typing: a whole rig, a hand-in, a table of parts, a boat."""
