"""How long big fleets take, measured in processes of their own: ``python -m tests.benchmarks``."""
