"""The clinic's records in one database file: athletes, visits, drafts, sheets, slips, the clinic's settings."""
