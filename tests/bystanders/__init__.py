"""Every query and every service with other people's records beside it, which must stay unseen and untouched."""
