"""Measurements a person can read: ``python -m tests.bench`` lists them, with a name it takes one."""
