"""Why a wearer may not get used to a pair: it beside the one worn before, and what differs, by size. Pure."""
