"""A made-up charter group and a made-up club, simulated with known lives, as their spreadsheets.

Pure: no Django. ``generate.generate(seed)`` tells the story; ``truth.TRUTH`` is what a fit must
find.
"""
