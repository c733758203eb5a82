// What a log says as a document, what it tells of its run, and the hash of all its bytes, from one
// reading.
//
// Undefined when: the bytes are no droplog at all: `reading` is empty and `unreadable` says why.
#pragma once

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/droplog/reader.hpp"

#include "bench/evidence/logs/log_story.hpp"

#include <optional>
#include <string>

namespace dropledger::evidence {

struct LogEvidence {
    std::string sha256; // hex
    std::optional<droplog::Reading> reading;
    LogStory story;
    std::string unreadable;
};

// Fails only where the file cannot be opened or read. `name` is for messages.
[[nodiscard]] Result<LogEvidence> read_evidence(const OpenBytes& open, const std::string& name);

// A small text file and its hash.
struct TextEvidence {
    std::string text;
    std::string sha256;
};
[[nodiscard]] Result<TextEvidence> read_text(const OpenBytes& open);

} // namespace dropledger::evidence
