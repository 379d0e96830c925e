"""Reading and writing: scans, checklists, case files, the ledger, records."""
