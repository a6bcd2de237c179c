"""Simulation studies: is the method right where the truth is known? Not part of the suite.

``python -m tests.studies NAME`` runs one; each is a module here with ``main(arguments)``.
"""
