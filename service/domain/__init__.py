"""What the service is about, free of web and database: people, boards, checks, how a joint fitted."""
