"""What each command takes on the command line; what it does is imported when it is called."""
