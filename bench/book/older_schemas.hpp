// The book's tables as earlier versions made them, and what carries their rows over into the present ones.
//
// Who changes schema.hpp puts the old text here, with its carry, and mends the other carries: each leads to the
// present schema in one step. The rows stand in temporary tables called old_NAME by then.
#pragma once

namespace dropledger::book {

struct OlderSchema {
    int version; // user_version
    const char* text;
    const char* carry;
};

// Versions 0.1.0 and before.
constexpr const char* schema_1 = R"sql(
CREATE TABLE run (
  run_id TEXT PRIMARY KEY, file TEXT NOT NULL, sha256 TEXT NOT NULL, started TEXT NOT NULL, bench TEXT NOT NULL,
  person TEXT NOT NULL, crop TEXT NOT NULL, seed_lot TEXT NOT NULL, thousand_seed_mass_mg INTEGER, mode TEXT NOT NULL,
  speed_mps REAL, profile TEXT NOT NULL, calibration TEXT NOT NULL, complete INTEGER NOT NULL,
  seals_intact INTEGER NOT NULL, is_signed INTEGER NOT NULL, outcome TEXT NOT NULL
) STRICT;
CREATE TABLE verdict (
  run_id TEXT NOT NULL REFERENCES run ON DELETE CASCADE, channel INTEGER NOT NULL, unit TEXT NOT NULL, row INTEGER,
  gate INTEGER NOT NULL, outcome TEXT NOT NULL, reason TEXT NOT NULL, drops INTEGER NOT NULL,
  PRIMARY KEY (run_id, channel)
) STRICT;
CREATE INDEX verdict_unit ON verdict (unit);
CREATE TABLE quantity (
  run_id TEXT NOT NULL, channel INTEGER NOT NULL, part TEXT NOT NULL, name TEXT NOT NULL, value REAL NOT NULL, low REAL,
  high REAL, PRIMARY KEY (run_id, channel, part, name),
  FOREIGN KEY (run_id, channel) REFERENCES verdict ON DELETE CASCADE
) STRICT;
CREATE TABLE calibration (id TEXT PRIMARY KEY, file TEXT NOT NULL, sha256 TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE TABLE profile (id TEXT PRIMARY KEY, file TEXT NOT NULL, sha256 TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE TABLE batch (
  id TEXT PRIMARY KEY, file TEXT NOT NULL, sha256 TEXT NOT NULL, opened TEXT NOT NULL, lot INTEGER NOT NULL,
  profile TEXT NOT NULL, decision TEXT NOT NULL
) STRICT;
CREATE VIEW unit AS
  SELECT unit, count(*) AS runs, min(started) AS first, max(started) AS last,
    (SELECT v.outcome FROM verdict v JOIN run r USING (run_id) WHERE v.unit = verdict.unit
     ORDER BY r.started DESC, r.run_id DESC, v.channel DESC LIMIT 1) AS last_outcome
  FROM verdict JOIN run USING (run_id) WHERE unit <> '' GROUP BY unit ORDER BY unit;
CREATE VIEW seed_lot AS
  SELECT seed_lot AS lot, crop, thousand_seed_mass_mg, count(*) AS runs FROM run WHERE seed_lot <> ''
  GROUP BY seed_lot, crop, thousand_seed_mass_mg ORDER BY seed_lot, crop, thousand_seed_mass_mg;
)sql";

// What judged a run was not noted.
constexpr const char* carry_1 = R"sql(
INSERT INTO run SELECT run_id, file, sha256, started, bench, person, crop, seed_lot, thousand_seed_mass_mg, mode, speed_mps,
  profile, calibration, '', complete, seals_intact, is_signed, outcome FROM old_run;
INSERT INTO verdict SELECT * FROM old_verdict;
INSERT INTO quantity SELECT * FROM old_quantity;
INSERT INTO calibration SELECT * FROM old_calibration;
INSERT INTO profile SELECT * FROM old_profile;
INSERT INTO batch SELECT * FROM old_batch;
)sql";

constexpr OlderSchema older_schemas[] = {{1, schema_1, carry_1}};

} // namespace dropledger::book
