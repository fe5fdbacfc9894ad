"""Every lens of every lab for one order: what each would measure and weigh, and what the check would say of it."""
