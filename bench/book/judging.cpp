#include "bench/book/judging.hpp"

#include "analysis/base/results.hpp"
#include "calibration/record/choice.hpp"

#include <algorithm>

namespace dropledger::book {

namespace {

// The book's own profile of that name and mode; null where there is none.
Result<std::optional<verdict::Profile>> own_profile(const std::vector<TextEntry>& own,
                                                    const std::string* name, ledger::Mode mode) {
    const auto at = std::find_if(own.begin(), own.end(), [&](const TextEntry& text) {
        return name != nullptr && text.id == *name;
    });
    if (at == own.end())
        return std::optional<verdict::Profile>{};
    return verdict::parse_profile(at->text, at->file).transform([&](verdict::Profile profile) {
        return profile.mode == mode ? std::optional{std::move(profile)} : std::nullopt;
    });
}

} // namespace

Result<std::vector<calibration::Record>> calibration_records(const Book& book) {
    return book.calibrations().and_then([&](const std::vector<TextEntry>& texts) {
        return each(texts, [&](const TextEntry& text) {
            return calibration::parse_record(text.text, book.file() + ", calibration " + text.id);
        });
    });
}

Result<audit::AuditOptions> audit_options(const Book& book, audit::ChooseProfile otherwise) {
    auto records = calibration_records(book);
    auto own = book.profiles();
    if (auto error = first_error(records, own))
        return *std::move(error);
    audit::AuditOptions options;
    options.calibrate = calibration::choosing_from(*std::move(records));
    options.choose_profile = [own = *std::move(own), otherwise = std::move(otherwise)](
                                 const droplog::Header& header,
                                 ledger::Mode mode) -> Result<audit::ProfileChoice> {
        auto profile = own_profile(own, header.find("tolerance"), mode);
        if (!profile)
            return profile.error();
        return *profile ? audit::ProfileChoice{**std::move(profile), ""} : otherwise(header, mode);
    };
    return options;
}

} // namespace dropledger::book
