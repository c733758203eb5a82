// `dropledger batch print`: a signed certificate as pages for people.
#pragma once

#include "bench/commands/shell/command.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

void add_batch_print(Command& batch);

struct CertificateFile {
    std::string json;               // signed
    std::optional<bool> same_pages; // of a PDF: are its pages what this program prints of the JSON?
};
// A certificate as it was signed, or a PDF that `batch print` made of it. `where` is for messages.
// Pages may differ without harm: another version of the program, of cairo or of the fonts.
[[nodiscard]] Result<CertificateFile> certificate_file(std::string bytes, const std::string& where);

} // namespace dropledger::cli
