"""What is printed: the terminal and the JSON, both read from the evaluation."""
