//! The shop's store: SQLite in one file, or PostgreSQL. All SQL is here; nothing is decided here.
