// Reads a table of samples or of edges, as instruments export it (CSV).
//
// Two forms. Wide: a column for each signal, 0 or 1, a row a sample or a row whenever one changes;
// with a column of times, or without one at a stated sample rate. Long: the columns `time`,
// `signal`, `level`, a row an edge. What stands before the line of column names is passed over.
// Units: of times, as the column's name says in brackets or after its last blank or underscore (s,
// ms, us, ns); seconds where it says nothing.
// Undefined when: no line near the beginning names all signals, a value is neither 0 nor 1, time
// goes back: an error that names the line.
#pragma once

#include "bench/capture/formats/vcd.hpp"

#include <optional>

namespace dropledger::capture {

[[nodiscard]] Result<Extent> read_samples(const OpenBytes& open, const std::string& where,
                                          std::span<const std::string> wires,
                                          std::optional<double> sample_rate_hz, ChangeSink& sink);

} // namespace dropledger::capture
