// A batch certificate as A4 pages for people, the signed JSON attached inside.
//
// Assumes: `signed_json` is the certificate's own file; its bytes go in as they are. Same input,
// same fonts and same cairo give the same bytes: no clock is read, the date is the certificate's.
// PDF/A-3 is not claimed: cairo writes neither the metadata nor the output intent that it asks for.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/batch/certificate.hpp"

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::report::certificate {

// Whether cairo and Pango can be loaded; to_pdf() throws BrokenInvariant where they cannot.
[[nodiscard]] Status can_draw();

[[nodiscard]] std::string to_pdf(const batch::Certificate& certificate,
                                 std::string_view signed_json);

// The signed JSON out of such a PDF; nothing where it holds none, or was changed behind the pages.
// The pages themselves are not signed: compare with to_pdf() where that matters.
[[nodiscard]] std::optional<std::string> attached_json(std::string_view pdf);

} // namespace dropledger::report::certificate
