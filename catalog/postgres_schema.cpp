// SPDX-License-Identifier: Apache-2.0
#include "catalog/postgres_schema.h"

namespace holdshelf {

// Texts compare byte by byte, as in a library in a folder, whatever the server's language.
const std::array<PostgresStep, 3> kPostgresSteps = {{
    {R"sql(
CREATE TABLE meta(
  key text PRIMARY KEY,
  value text NOT NULL
);
CREATE TABLE batch(
  number bigint PRIMARY KEY,
  blob text COLLATE "C" NOT NULL             -- SHA-256 of the Batch message
);
CREATE TABLE event(
  number bigint PRIMARY KEY,
  hold text COLLATE "C" NOT NULL,            -- or another subject
  at text COLLATE "C" NOT NULL,
  who text NOT NULL,
  body bytea NOT NULL                        -- Event message
);
CREATE INDEX event_hold ON event(hold, number);
CREATE TABLE hold(
  key bigint PRIMARY KEY,
  id text COLLATE "C" NOT NULL UNIQUE,
  status bigint NOT NULL,
  name text COLLATE "C" NOT NULL,
  bin text COLLATE "C" NOT NULL,
  set_name text COLLATE "C" NOT NULL,
  colour text COLLATE "C" NOT NULL,
  site text COLLATE "C" NOT NULL,            -- where it stands
  protrusion_mm float8,
  width_mm float8,
  height_mm float8,
  volume_mm3 float8,
  search bytea NOT NULL,                     -- measured numbers, packed (catalog/search_row.h)
  body bytea NOT NULL                        -- Hold message
);
CREATE INDEX hold_bin ON hold(bin);
CREATE INDEX hold_set ON hold(set_name);
CREATE INDEX hold_site ON hold(site);
CREATE INDEX hold_colour ON hold(colour, status);
CREATE INDEX hold_protrusion ON hold(protrusion_mm);
CREATE INDEX hold_volume ON hold(volume_mm3);
CREATE TABLE blob(
  name text COLLATE "C" PRIMARY KEY,         -- SHA-256 of the bytes
  bytes bytea NOT NULL
);
CREATE TABLE capture(                        -- the queue of rebuilds (catalog/capture_queue.h)
  id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
  state bigint NOT NULL,                     -- QueuedCapture.State
  site text NOT NULL,
  queued_at timestamptz NOT NULL DEFAULT now(),
  ready_at timestamptz NOT NULL DEFAULT now(),
  tries bigint NOT NULL DEFAULT 0,
  claim bigint NOT NULL DEFAULT 0,
  worker text NOT NULL DEFAULT '',
  reason text NOT NULL DEFAULT '',
  hold text NOT NULL DEFAULT '',
  store boolean NOT NULL,                    -- what comes out becomes a hold at once
  intake bytea NOT NULL,                     -- Intake message
  result bytea NOT NULL DEFAULT ''           -- RebuiltCapture message
);
CREATE INDEX capture_ready ON capture(ready_at, id) WHERE state IN (1, 2);
ALTER TABLE blob ALTER COLUMN bytes SET STORAGE EXTERNAL;  -- Pictures and meshes are packed already.
)sql",
     false},
    // Names are compared without regard to case, and ids sorted by the numbers at their ends.
    {R"sql(
DROP INDEX hold_bin;
DROP INDEX hold_set;
DROP INDEX hold_colour;
CREATE INDEX hold_bin ON hold(lower(bin));
CREATE INDEX hold_set ON hold(lower(set_name));
CREATE INDEX hold_site_lower ON hold(lower(site));
CREATE INDEX hold_id_order ON hold(
  regexp_replace(id, '[0-9]+$', ''),
  length(ltrim(substring(id, '[0-9]*$'), '0')),
  ltrim(substring(id, '[0-9]*$'), '0'),
  key
);
ANALYZE hold;                                -- Expressions have no statistics before.
)sql",
     false},
    // One index for all that is asked of a hold but its status, instead of one a column; and walks
    // along one site's holds. Few rows wait to be put into the index, since each search looks at
    // all that do. What is long stands beside the table, so that a page has fifty rows to look at
    // and not six.
    {R"sql(
ALTER TABLE hold ADD COLUMN marks int4[] NOT NULL DEFAULT '{}';  -- catalog/search_marks.h
ALTER TABLE hold SET (toast_tuple_target = 128);
ALTER TABLE hold ALTER COLUMN search SET STORAGE EXTERNAL;
ALTER TABLE hold ALTER COLUMN marks SET STORAGE EXTERNAL;
DROP INDEX hold_bin;
DROP INDEX hold_set;
DROP INDEX hold_site;
DROP INDEX hold_site_lower;
DROP INDEX hold_protrusion;
DROP INDEX hold_volume;
CREATE INDEX hold_marks ON hold USING gin(marks) WITH (gin_pending_list_limit = 256);
CREATE INDEX hold_status ON hold(status, key);
CREATE INDEX hold_site_key ON hold(site, key);
CREATE INDEX hold_site_id_order ON hold(
  site,
  regexp_replace(id, '[0-9]+$', ''),
  length(ltrim(substring(id, '[0-9]*$'), '0')),
  ltrim(substring(id, '[0-9]*$'), '0'),
  key
);
)sql",
     true},
}};

const char* const kPostgresOwner = R"sql(
DO $$
BEGIN
  IF EXISTS (SELECT FROM pg_namespace WHERE nspname = 'holdshelf'
             AND nspowner = to_regrole('holdshelf_owner')) THEN
    IF pg_has_role('holdshelf_owner', 'MEMBER') THEN
      SET LOCAL ROLE holdshelf_owner;
    END IF;
  END IF;
END $$;
)sql";

const char* const kPostgresGrants = R"sql(
DO $$
BEGIN
  IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'holdshelf_use') THEN
    GRANT USAGE ON SCHEMA holdshelf TO holdshelf_use;
    GRANT SELECT ON meta TO holdshelf_use;
    GRANT SELECT, INSERT ON batch, event, blob TO holdshelf_use;
    GRANT SELECT, INSERT, UPDATE ON hold, capture TO holdshelf_use;
  END IF;
  IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'holdshelf_read') THEN
    GRANT USAGE ON SCHEMA holdshelf TO holdshelf_read;
    GRANT SELECT ON meta, batch, event, hold, blob, capture TO holdshelf_read;
  END IF;
END $$;
)sql";

}  // namespace holdshelf
