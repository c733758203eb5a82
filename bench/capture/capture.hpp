// From a logic analyser's capture and its wiring to a sealed log.
//
// Assumes: the capture shows one run from its beginning to its end. The log is the same for the same
// capture, wiring and settings. It says that it is a capture: nothing was acknowledged, and what
// the instrument overlooked nobody counted.
// Undefined when: the capture cannot be read, its samples lie too far apart for a seed, travel or
// the commands of the stated mode are not wired: an error, and no log.
#pragma once

#include "bench/capture/converter.hpp"
#include "bench/capture/formats/vcd.hpp"
#include "bench/capture/wiring.hpp"

#include "analysis/base/readers/byte_source.hpp"
#include "analysis/droplog/integrity.hpp"
#include "analysis/droplog/seal.hpp"
#include "analysis/droplog/writer.hpp"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::capture {

struct Request {
    OpenBytes open;
    std::string where; // for messages
    Wiring wiring;
    std::string wiring_text;
    droplog::Header head; // settings and when it began; its run id is made here
    // Further settings that are no part of the run's identity: how many were signed before.
    droplog::Settings counted;
    std::optional<droplog::PrivateKey> key;
    droplog::Writer::Sink sink;
};

struct Captured {
    std::string run_id;
    std::string sha256; // of the capture
    Extent extent;
    std::int64_t step_ps = 0; // between two samples
    bool step_stated = false; // by the wiring; else as the times show it
    Counts counts;
    std::vector<std::string> doubts; // sentences
};

[[nodiscard]] Result<Captured> capture_to_log(const Request& request);

} // namespace dropledger::capture
