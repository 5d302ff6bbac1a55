"""Starts and stops what the program runs on: PostgreSQL, a Redis-protocol broker, web, worker and schedule.

Free of the framework: it runs before there is a database. PostgreSQL and Valkey come as ready binaries in
Python packages; with DATABASE_URL and REDIS_URL set, those servers are used instead.
"""
