"""One model per published table."""
