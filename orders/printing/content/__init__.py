"""What the paper lab order says, as texts. Pure: documents in, texts out; never a template, a file or a database."""
