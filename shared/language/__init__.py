"""What screens say in the language of the unit: texts by one catalogue, numbers and days by one locale."""
