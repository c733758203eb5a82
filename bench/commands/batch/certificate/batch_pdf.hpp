// A certificate as it lies on a disk: the signed JSON, or the PDF that `batch print` makes of it.
#pragma once

#include "analysis/base/result.hpp"

#include <optional>
#include <string>

namespace dropledger::cli {

struct CertificateFile {
    std::string json;                        // signed
    std::optional<std::string> pages_sha256; // of a PDF: what its pages are, byte for byte
};
// A certificate as it was signed, or a PDF that `batch certificate` or `batch print` made of it.
// `where` is for messages.
[[nodiscard]] Result<CertificateFile> certificate_file(std::string bytes, const std::string& where);

} // namespace dropledger::cli
