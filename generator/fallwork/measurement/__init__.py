"""Measurement: takes sensor records or summary values and the mechanics solver; gives estimates
with uncertainties, predictions, their comparison and the account of the discrepancy.

Knows nothing of pages. Only the functions that read records touch files.
"""
