"""The invented demo case: its scans, checklist and case file, and the script that made them."""
