// Why an issuer takes a certificate back, and his statement of it, which stands for itself: the
// signed line of the batch file, as a file of its own.
//
// Undefined when: the line is no entry, is not signed by the key in it, or takes nothing back: an
// error.
#pragma once

#include "analysis/base/enum_names.hpp"
#include "analysis/base/result.hpp"

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace dropledger::batch {

enum class RevocationCause : std::uint8_t {
    wrong_report,   // what the issuer stated of himself, the client or the goods
    wrong_evidence, // a log, a calibration or a unit was not what it was taken for
    key_lost,       // others may have signed with it
};
inline constexpr std::array revocation_cause_names{
    EnumName{RevocationCause::wrong_report, "wrong_report"},
    EnumName{RevocationCause::wrong_evidence, "wrong_evidence"},
    EnumName{RevocationCause::key_lost, "key_lost"}};
static_assert(names_all<revocation_cause_names>());

struct RevocationStatement {
    std::string sha256; // of the certificate
    RevocationCause cause = RevocationCause::wrong_report;
    std::string text;
    std::string at;
    std::string public_key;
};

[[nodiscard]] Result<RevocationStatement> revocation_in(std::string_view text);

} // namespace dropledger::batch
