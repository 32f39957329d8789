"""Orders in: a CSV table or typed answers become orders of a plan."""
