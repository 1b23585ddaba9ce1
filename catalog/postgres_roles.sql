-- SPDX-License-Identifier: Apache-2.0
-- Run once by the database's administrator, connected to the library's own database:
--   createdb gym && psql -d gym -f postgres_roles.sql
-- Then give each person or machine a login of its own, e.g.
--   CREATE ROLE hold_room LOGIN IN ROLE holdshelf_use;  \password hold_room
-- and open the library once as a member of holdshelf_owner, which makes the tables:
--   holdshelf transfer --from FOLDER --to postgres://OWNER@HOST/gym
-- A login that is to work for one site only, whatever its machine says, is bound to it as that owner:
--   INSERT INTO holdshelf.meta VALUES ('site/hold_room', 'north');

-- Makes the tables and brings them up to date; no machine works under it day by day.
CREATE ROLE holdshelf_owner NOLOGIN;
-- Servers, workers and command lines: read and add. Events, batches and files can neither be changed
-- nor deleted under it, and no table, schema or temporary table can be made.
CREATE ROLE holdshelf_use NOLOGIN;
-- Reads everything, changes nothing.
CREATE ROLE holdshelf_read NOLOGIN;

CREATE SCHEMA holdshelf AUTHORIZATION holdshelf_owner;
REVOKE CREATE ON SCHEMA public FROM PUBLIC;

-- Nobody but these roles gets in, and they make no temporary tables.
DO $$
BEGIN
  EXECUTE format('REVOKE ALL ON DATABASE %I FROM PUBLIC', current_database());
  EXECUTE format('GRANT CONNECT ON DATABASE %I TO holdshelf_owner, holdshelf_use, holdshelf_read',
                 current_database());
END $$;
