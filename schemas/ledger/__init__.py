"""What the intake keeps about files, held rows and runs, beside the records themselves."""
