// A batch certificate as A4 pages for people, the signed JSON attached inside.
//
// Assumes: `signed_json` is the certificate's own file; its bytes go in as they are. Same input,
// same fonts and same cairo give the same bytes: no clock is read, the date is the certificate's.
// Other fonts give other pages: hence the certificate signs the hash of those that were printed.
// PDF/A-3 is not claimed: cairo writes neither the metadata nor the output intent that it asks for.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/batch/certificate/certificate.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::report::certificate {

// Whether cairo and Pango can be loaded; pages() throws BrokenInvariant where they cannot.
[[nodiscard]] Status can_draw();

// The pages alone. Neither signature nor hash of pages stands on them: they are the same before and
// after the certificate is signed.
[[nodiscard]] std::string pages(const batch::Certificate& certificate);

// Such pages with the signed JSON attached.
[[nodiscard]] std::string with_signed(const std::string& pages,
                                      const batch::Certificate& certificate,
                                      std::string_view signed_json);

// Such a PDF; nothing where it holds no JSON, or was changed behind the pages. Whether the pages
// are the certificate's its hash of them says.
struct PrintedCertificate {
    std::string json;
    std::string pages;
};
[[nodiscard]] std::optional<PrintedCertificate> taken_apart(std::string_view pdf);

} // namespace dropledger::report::certificate
