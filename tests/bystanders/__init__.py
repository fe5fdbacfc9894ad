"""Every query and every service is run beside other people's records, which must stay unseen and untouched."""
