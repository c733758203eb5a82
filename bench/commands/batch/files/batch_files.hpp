// What the batch subcommands share: batch files, folders of evidence, keys given as text.
#pragma once

#include "analysis/batch/chain/batch.hpp"
#include "bench/evidence/logs/folder.hpp"
#include "bench/evidence/logs/log_evidence.hpp"
#include "bench/evidence/verify/verify.hpp"

#include <nlohmann/json_fwd.hpp>

#include <functional>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::cli {

constexpr std::size_t most_batch_bytes = std::size_t{128} << 20U; // of certificates too

[[nodiscard]] Result<batch::Batch> load_batch(const std::string& file);
// The batch in `file` with what `change` does to it, saved where that is something; under a lock, so
// that nothing is lost that another program writes meanwhile.
[[nodiscard]] Result<batch::Batch>
changed_batch(const std::string& file, const std::function<Status(batch::Batch&)>& change);
// Only where no file is.
[[nodiscard]] Status save_new_batch(const std::string& file, const batch::Batch& batch);

// Fails where it is no folder.
[[nodiscard]] Result<evidence::Folder> folder_on_disk(const std::string& path);

// The same; it holds the batch file too, under its plain name, wherever that lies.
[[nodiscard]] Result<evidence::Folder> folder_with_batch(const std::string& path,
                                                         const std::string& batch_file);

// Who writes the next entry of a batch file: the key in `key_file`, now. Only in a rehearsal may
// another time be stated.
struct Signing {
    std::string key_file;
    std::optional<std::string> at;
};
[[nodiscard]] Result<batch::Signer> signer_of(const Signing& signing, bool rehearsal);

// A small text file.
[[nodiscard]] Result<evidence::TextEvidence> read_file(const std::string& file);

// One serial a line, or a CSV table with the column `unit`.
[[nodiscard]] Result<std::vector<std::string>> serials_in(const std::string& file);

// What does not hold, a line each, and as JSON.
[[nodiscard]] std::string failures_text(const std::vector<evidence::Failure>& failures);
[[nodiscard]] nlohmann::ordered_json failures_json(const std::vector<evidence::Failure>& failures);

// 64 hex digits, as `batch key` prints them; `option` is for messages.
[[nodiscard]] Result<std::string> public_key_text(const std::string& option,
                                                  const std::string& text);

} // namespace dropledger::cli
