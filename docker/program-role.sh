#!/bin/sh
# Run once by the PostgreSQL image on an empty data folder: the role that may add facts and not change them.
set -eu
psql -v ON_ERROR_STOP=1 -v word="$PROGRAM_PASSWORD" -U "$POSTGRES_USER" -d "$POSTGRES_DB" <<'SQL'
CREATE ROLE program LOGIN PASSWORD :'word';
SQL
