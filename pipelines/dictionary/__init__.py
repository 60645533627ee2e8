"""What the published tables mean, told from their models: the dictionary and the contract."""
