"""Every published figure that the program is held to, as data, and what it works out for each.

The checks stand in ``lostneutral/data/checks/``, one file a topic; the tests and `lostneutral verify` share them.
"""
