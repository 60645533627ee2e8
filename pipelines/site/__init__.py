"""The web page: charts, findings in words, templates, and what writes them."""
