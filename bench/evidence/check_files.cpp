#include "bench/evidence/checks.hpp"
#include "bench/evidence/known_profile.hpp"

#include "analysis/droplog/seal.hpp"

#include <fmt/format.h>

namespace dropledger::evidence {

using batch::Certificate;

namespace {

Result<TextEvidence> profile_text(const std::string& name, const std::string& file,
                                  const Folder& folder) {
    if (is_plain_name(file) && folder.holds(file))
        return read_text(folder.open(file));
    const auto known = known_profile(name);
    if (!known)
        return input_error(file, "it is not in the folder and does not come with the program", "");
    return TextEvidence{std::string{*known}, droplog::to_hex(droplog::sha256(*known))};
}

struct RecordCheck {
    const batch::UsedCalibration& stated;
    const Folder& folder;
};

std::optional<calibration::Record> checked(const RecordCheck& check, Failures& failures) {
    const batch::UsedCalibration& stated = check.stated;
    const auto fail = [&](const char* code, std::string what) {
        failures.push_back({code, stated.file, std::move(what)});
        return std::nullopt;
    };
    if (!is_plain_name(stated.file) || !check.folder.holds(stated.file))
        return fail("calibration_missing",
                    fmt::format("the record of calibration {} is not in the folder", stated.id));
    const auto text = read_text(check.folder.open(stated.file));
    if (!text)
        return fail("calibration_missing", text.error().what);
    if (text->sha256 != stated.sha256)
        return fail("calibration_changed", fmt::format("its SHA-256 is {}, certified was {}: it is "
                                                       "not the record of calibration {} that the "
                                                       "certificate rests on",
                                                       text->sha256, stated.sha256, stated.id));
    auto record = calibration::parse_record(text->text, stated.file);
    if (!record)
        return fail("calibration_changed", record.error().what);
    if (record->id != stated.id || record->expires != stated.expires)
        return fail("calibration_changed",
                    fmt::format("it says {} until {}, the certificate {} until {}", record->id,
                                record->expires, stated.id, stated.expires));
    return *std::move(record);
}

} // namespace

std::optional<verdict::Profile> check_profile(const Certificate& certificate, const Folder& folder,
                                              Failures& failures) {
    const batch::CertifiedProfile& stated = certificate.profile;
    const std::string file = stated.name + ".toml";
    const auto text = profile_text(stated.name, file, folder);
    if (!text) {
        failures.push_back({"profile_missing", file, text.error().what});
        return std::nullopt;
    }
    if (text->sha256 != stated.sha256) {
        failures.push_back(
            {"profile_changed", file,
             fmt::format("its SHA-256 is {}, certified was {}: it is not the profile that judged",
                         text->sha256, stated.sha256)});
        return std::nullopt;
    }
    auto profile = verdict::parse_profile(text->text, file);
    if (!profile) {
        failures.push_back({"profile_changed", file, profile.error().what});
        return std::nullopt;
    }
    if (profile->limits != stated.limits || profile->mode != stated.mode)
        failures.push_back(
            {"profile_changed", file, "its limits are not those that the certificate states"});
    return *std::move(profile);
}

Records check_calibrations(const Certificate& certificate, const Folder& folder,
                           Failures& failures) {
    Records records;
    for (const batch::UsedCalibration& stated : certificate.calibrations)
        if (auto record = checked({stated, folder}, failures))
            records.emplace(stated.id, *std::move(record));
    return records;
}

} // namespace dropledger::evidence
