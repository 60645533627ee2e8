"""The table of all sheets: searched, filtered, sorted and downloaded in the browser."""
