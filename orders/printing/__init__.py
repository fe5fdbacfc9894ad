"""Paper: the lab-order PDF, drawn by WeasyPrint from the frozen text of an order and nothing else."""
