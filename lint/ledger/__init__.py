"""The ledger of past verdicts: a sheet is written down with what it hangs on, and used again while that holds."""
