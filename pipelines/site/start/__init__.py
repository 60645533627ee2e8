"""The start page: the work list, the last run, and the newest trials and sheets."""
