// `dropledger simulate --vcd`: what a logic analyser would see of a virtual bench, and the files with
// which `dropledger capture` makes a log of it.
#pragma once

#include "bench/virtual/unit/event.hpp"
#include "bench/virtual/unit/scenario.hpp"

#include "analysis/base/result.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

struct TraceFiles {
    std::string vcd;
    std::optional<std::string> wiring;
    std::optional<std::string> settings;
};

// Each where nothing is there yet.
[[nodiscard]] Status write_trace(const bench_virtual::Scenario& scenario, const TraceFiles& to,
                                 const bench_virtual::TruthSink& truth);

} // namespace dropledger::cli
