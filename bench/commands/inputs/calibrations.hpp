// Calibration records on disk: read for an audit, written by `calibrate … --write`.
#pragma once

#include "analysis/audit/options.hpp"
#include "bench/commands/shell/command.hpp"
#include "calibration/record/record.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

[[nodiscard]] Result<calibration::Record> read_record(const std::string& file);

// An empty function where there are no files.
[[nodiscard]] Result<audit::Calibrate> calibration_chooser(const std::vector<std::string>& files,
                                                           bool anyway);

[[nodiscard]] Result<std::vector<calibration::Record>>
read_records(const std::vector<std::string>& files);

struct WriteOptions {
    std::optional<std::string> write;
    std::optional<std::string> id;
    std::optional<std::string> date;
    std::optional<std::string> expires;
    std::optional<std::string> bench;
    std::optional<std::string> unit;
    std::optional<std::string> crop;
    std::optional<double> seed_mm_low;
    std::optional<double> seed_mm_high;
};

void add_write_options(Command& command, WriteOptions& options);

// Refuses a run given twice, and where a record is to be written logs that are not whole; without
// one they are told on standard error.
[[nodiscard]] Status fit_logs(const std::vector<std::string>& logs, const WriteOptions& options);

// What the calibration came from: files to hash; of logs, the first says for what it holds where
// the options do not.
struct WrittenFrom {
    std::vector<std::string> logs;
    std::vector<std::string> tables;
    std::optional<int> channel;
    std::vector<int>
        matched{}; // of each log the channel whose two gates were matched; may be empty
};

// Does nothing without --write. `record` has its values and its gate; the rest is filled in here.
// Into a file that is there, the values are laid over.
[[nodiscard]] Status write_record(const WriteOptions& options, calibration::Record record,
                                  const WrittenFrom& from);

} // namespace dropledger::cli
