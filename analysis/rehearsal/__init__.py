"""An invented trial to practise with, marked as invented wherever it shows."""
