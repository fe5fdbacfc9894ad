"""What the lab order on paper says, as texts. Pure: documents in, texts out; never a template, a file or a database."""
