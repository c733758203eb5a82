#include "bench/commands/run/settings/run_calibration.hpp"

#include "bench/book/judging.hpp"
#include "bench/commands/inputs/calibrations.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/usage.hpp"
#include "calibration/record/choice.hpp"
#include "calibration/run/run_calibration.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::cli {

namespace {

using calibration::Record;
using Records = std::vector<Record>;
using Sentences = std::vector<std::string>;

struct Asked {
    calibration::RunChoice choice;
    Sentences unchecked; // of ids that nobody could look up
};

// Files are read, ids looked up in the book; without a book an id is only written down.
Result<Asked> named_ones(const std::string& names, const Records& in_book, bool has_book) {
    Asked asked;
    asked.choice.named.emplace();
    for (const std::string& name : calibration::ids_in(names)) {
        if (names_a_file(name)) {
            auto record = read_record(name);
            if (!record)
                return record.error();
            asked.choice.named->push_back(record->id);
            asked.choice.records.push_back(*std::move(record));
            continue;
        }
        const auto at = std::find_if(in_book.begin(), in_book.end(),
                                     [&](const Record& one) { return one.id == name; });
        if (at == in_book.end() && has_book)
            return usage("--calibration", fmt::format("the book has no calibration '{}'", name),
                         "enter it (dropledger book add FILE), or name its file");
        asked.choice.named->push_back(name);
        if (at != in_book.end())
            asked.choice.records.push_back(*at);
        else
            asked.unchecked.push_back(fmt::format(
                "Calibration {} is written into the log and was not looked at: name its "
                "file, or the book that holds it with --book.",
                name));
    }
    return asked;
}

Result<Asked> asked_for(const RunOptions& options, const book::Book* book) {
    auto in_book = book == nullptr ? Result<Records>{Records{}} : book::calibration_records(*book);
    if (!in_book)
        return in_book.error();
    if (options.calibration)
        return named_ones(*options.calibration, *in_book, book != nullptr);
    Asked asked;
    asked.choice.records = *std::move(in_book);
    return asked;
}

std::string in_words(const calibration::WantedLead& lead) {
    return fmt::format("Calibration {} wants the lead of channel {} at {} us; {}.", lead.id,
                       lead.channel, lead.wanted_us,
                       lead.in_force_us ? fmt::format("{} us are in force", *lead.in_force_us)
                                        : "the log will not say which is in force (--lead-us)");
}

} // namespace

Result<Sentences> calibrate_plan(const RunOptions& options, const book::Book* book,
                                 const std::string& day, recorder::RunPlan& plan) {
    if (!options.calibration && book == nullptr)
        return Sentences{};
    auto asked = asked_for(options, book);
    if (!asked)
        return asked.error();
    asked->choice.anyway = options.calibration_anyway;
    asked->choice.day = day;
    const auto found =
        calibration::calibration_of_run(recorder::head_of(plan, day + "T00:00:00Z"), asked->choice);
    if (!found)
        return found.error();
    for (const calibration::GateFall& one : found->falls)
        plan.channel_settings.push_back(
            {one.channel, fmt::format("gate{}_fall_us", one.gate), std::to_string(one.fall_us)});
    if (!found->ids.empty()) {
        if (const Status fits = check_text("--calibration", found->ids); !fits)
            return fits.error();
        plan.settings.push_back({"calibration", found->ids});
    }
    Sentences says = found->notes;
    says.insert(says.end(), asked->unchecked.begin(), asked->unchecked.end());
    for (const calibration::WantedLead& lead : found->leads)
        says.push_back(in_words(lead));
    return says;
}

} // namespace dropledger::cli
