"""What the demonstration's people put on record after the import, by the verbs the pages use.

Events, second looks, a part that let go, reports of others, store, stepped masts, hand-ins, what
phones sent, and photos, which are drawn. ``telling.tell(fleet)`` tells a fleet's story once.
"""
