// A certificate as it lies on a disk: the signed JSON, or the PDF that `batch print` makes of it.
#pragma once

#include "analysis/base/result.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

struct CertificateFile {
    std::string json;               // signed
    std::optional<bool> same_pages; // of a PDF: are its pages what this program prints of the JSON?
};
// A certificate as it was signed, or a PDF that `batch print` made of it. `where` is for messages.
// Pages may differ without harm: another version of the program, of cairo or of the fonts.
[[nodiscard]] Result<CertificateFile> certificate_file(std::string bytes, const std::string& where);

} // namespace dropledger::cli
