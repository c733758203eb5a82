// The book's tables. Those of earlier versions: older_schemas.hpp.
#pragma once

#include <cstdint>

namespace dropledger::book {

constexpr std::int32_t application_id = 0x44524c42; // marks the SQLite file as a bench book
constexpr std::int32_t schema_version = 2;          // user_version

constexpr const char* schema = R"sql(
CREATE TABLE run (
  run_id TEXT PRIMARY KEY, file TEXT NOT NULL, sha256 TEXT NOT NULL, started TEXT NOT NULL, bench TEXT NOT NULL,
  person TEXT NOT NULL, crop TEXT NOT NULL, seed_lot TEXT NOT NULL, thousand_seed_mass_mg INTEGER, mode TEXT NOT NULL,
  speed_mps REAL, profile TEXT NOT NULL, calibration TEXT NOT NULL, judged_by TEXT NOT NULL,
  complete INTEGER NOT NULL, seals_intact INTEGER NOT NULL, is_signed INTEGER NOT NULL, outcome TEXT NOT NULL
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

} // namespace dropledger::book
