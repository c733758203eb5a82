#include "analysis/batch/runs/json_parts.hpp"
#include "analysis/droplog/seal.hpp"
#include "bench/evidence/verify/check_efficiency.hpp"
#include "bench/evidence/verify/checks.hpp"

#include <fmt/format.h>

namespace dropledger::evidence {

using batch::Certificate;

namespace {

struct RecordCheck {
    const batch::UsedCalibration& stated;
    const Folder& folder;
};

void check_inputs(const RecordCheck& check, const calibration::Record& record, Failures& failures) {
    for (const calibration::InputFile& input : record.inputs) {
        const std::string name = input.file.substr(input.file.find_last_of('/') + 1);
        if (!is_plain_name(name) || !check.folder.holds(name)) {
            failures.push_back({"calibration_input_missing", name,
                                fmt::format("calibration {} rests on it, and it is not in the "
                                            "folder",
                                            check.stated.id)});
            continue;
        }
        const auto found = read_evidence(check.folder.open(name), name);
        if (!found || found->sha256 != input.sha256)
            failures.push_back(
                {"calibration_input_changed", name,
                 fmt::format("it is not the file that calibration {} rests on", check.stated.id)});
    }
}

// Of the same content; the efficiency's numbers were written by this program, shortest form.
bool as_stated(const calibration::Record& record, const batch::UsedCalibration& stated) {
    return batch::json_of(used(record, stated.file, stated.sha256)) == batch::json_of(stated);
}

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
    if (!as_stated(*record, stated))
        return fail("calibration_changed",
                    fmt::format("it says {} until {} with another efficiency or other inputs than "
                                "the certificate, which says {} until {}",
                                record->id, record->expires, stated.id, stated.expires));
    check_inputs(check, *record, failures);
    for (Failure& failure : check_efficiency(*record, check.folder))
        failures.push_back(std::move(failure));
    return *std::move(record);
}

} // namespace

std::optional<verdict::Profile> check_profile(const Certificate& certificate, Failures& failures) {
    const batch::CertifiedProfile& stated = certificate.profile;
    if (droplog::to_hex(droplog::sha256(stated.text)) != stated.sha256) {
        failures.push_back({"profile_changed", "profile", "its text does not have its SHA-256"});
        return std::nullopt;
    }
    auto profile = verdict::parse_profile(stated.text, stated.name);
    if (!profile) {
        failures.push_back({"profile_changed", "profile", profile.error().what});
        return std::nullopt;
    }
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
