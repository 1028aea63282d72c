"""The service for browsers and programs: pages, JSON, pictures; thin routes over the use cases."""
