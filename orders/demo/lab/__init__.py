"""A sample lab, for seeing the whole dialogue on one machine and for a lab's developer to read; it knows no Django."""
