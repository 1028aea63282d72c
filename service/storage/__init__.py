"""Rows and files: SQLAlchemy over SQLite or PostgreSQL, Alembic's migrations, photos in the data folder."""
