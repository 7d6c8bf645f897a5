"""What a person chose: read from the form or a link, checked, and written back."""
