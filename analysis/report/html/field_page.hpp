// The field audit as one HTML file with a map, that needs no network: what to do first, then the
// map, then why.
//
// Readable on a screen of 320 px, on paper in black and white, and without the script (which adds
// pan, zoom and search to the map). Every kind of mark has its own shape; colour only helps.
#pragma once

#include "analysis/field/audit.hpp"

#include <string>

namespace dropledger::report::field {

// What stands inside the page, for a frame that has the styles already; `below_headline` is markup.
[[nodiscard]] std::string field_body(const dropledger::field::FieldAudit& audit,
                                     const std::string& below_headline = {});
[[nodiscard]] std::string to_html(const dropledger::field::FieldAudit& audit);

} // namespace dropledger::report::field
