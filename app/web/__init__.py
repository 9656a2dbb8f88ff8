"""Routes, forms, page contexts and drawings: HTTP and HTML stop here."""
