// What an issuer states of himself and the goods, from a TOML file.
#pragma once

#include "analysis/batch/certificate/certificate.hpp"

#include <string>

namespace dropledger::cli {

// Keys: number, issuer, place, client, product, authorised_by, deviations (a list). Unknown keys
// are refused with their line.
[[nodiscard]] Result<batch::ReportFacts> report_facts_in(const std::string& file);

} // namespace dropledger::cli
