"""A sheet as blocks, laid out as plain text pages or HTML."""
