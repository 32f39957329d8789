"""A sheet as blocks, with its amounts and marks in words, laid out as plain text pages or HTML."""
