#include "analysis/audit/profile_choice.hpp"

#include <fmt/format.h>

namespace dropledger::audit {

Result<ProfileChoice> choose_profile(const AuditOptions& options, const droplog::Header& header,
                                     ledger::Mode mode) {
    if (!options.choose_profile)
        return ProfileChoice{verdict::no_profile(mode), ""};
    auto choice = options.choose_profile(header, mode);
    if (!choice)
        return choice.error();
    if (choice->profile.mode != mode)
        return usage_error(fmt::format("profile {}", choice->profile.name),
                           fmt::format("it is for mode {}, the run is in mode {}",
                                       ledger::name_of(choice->profile.mode),
                                       ledger::name_of(mode)),
                           "name a profile for the run's mode");
    return choice;
}

} // namespace dropledger::audit
