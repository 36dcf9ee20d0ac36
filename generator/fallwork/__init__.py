"""Fallwork."""
