"""What pages of no bed are made of: rows with a focus, sections of lines, keys, and the page that holds them."""
