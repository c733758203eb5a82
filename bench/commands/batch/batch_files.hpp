// What the batch subcommands share: batch files, folders of evidence, keys given as text.
#pragma once

#include "analysis/batch/batch.hpp"
#include "bench/evidence/folder.hpp"
#include "bench/evidence/log_evidence.hpp"

#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

[[nodiscard]] Result<batch::Batch> load_batch(const std::string& file);
// Over the batch that was loaded: under a files::FileLock from load to save, else what another
// program wrote meanwhile is lost.
[[nodiscard]] Status save_batch(const std::string& file, const batch::Batch& batch);
// Only where no file is.
[[nodiscard]] Status save_new_batch(const std::string& file, const batch::Batch& batch);

// Fails where it is no folder.
[[nodiscard]] Result<evidence::Folder> folder_on_disk(const std::string& path);

// A small text file.
[[nodiscard]] Result<evidence::TextEvidence> read_file(const std::string& file);

// One serial a line, or a CSV table with the column `unit`.
[[nodiscard]] Result<std::vector<std::string>> serials_in(const std::string& file);

// "SU-0001..SU-0280": the same text before the number, the number counting up, leading zeros kept.
[[nodiscard]] Result<std::vector<std::string>> serials_of_range(const std::string& range);

// 64 hex digits, as `batch key` prints them; `option` is for messages.
[[nodiscard]] Result<std::string> public_key_text(const std::string& option,
                                                  const std::string& text);

} // namespace dropledger::cli
