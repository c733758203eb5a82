#include "analysis/audit/spacings.hpp"
#include "analysis/audit/doubt/contradictions.hpp"
#include "analysis/audit/doubt/doubtful_drops.hpp"
#include "analysis/audit/judge.hpp"
#include "analysis/audit/profile_choice.hpp"
#include "analysis/base/readers/csv_table.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <cmath>
#include <string_view>

namespace dropledger::audit {

namespace {

struct Column {
    bool positions = false;
    bool centimetres = false;
    std::size_t at = 0;
    std::size_t width = 0;
    std::vector<std::int64_t> values_um;
};

class ColumnReader {
public:
    ColumnReader(ByteSource& source, const std::string& file)
        : reader_(source, CsvReader::Comments::lines), file_(file) {}

    [[nodiscard]] Result<Column> read() {
        for (CsvRecord record;;) {
            const auto more = reader_.next(record);
            if (!more)
                return more.error();
            if (!*more)
                break;
            line_ = record.line;
            if (const Status taken = take(record); !taken)
                return taken.error();
        }
        if (column_.width == 0)
            return problem("no header", "start the file with spacing_mm or position_mm");
        return column_;
    }

private:
    [[nodiscard]] Error problem(std::string what, std::string remedy) const {
        return input_error(fmt::format("{}:{}", file_, line_), std::move(what), std::move(remedy));
    }

    [[nodiscard]] Status take(const CsvRecord& record) {
        if (record.damaged)
            return problem("a quote that is not closed, or a line too long", "correct the line");
        if (column_.width == 0)
            return take_header(record.fields);
        if (record.fields.size() != column_.width)
            return problem(fmt::format("{} fields where the header has {}", record.fields.size(),
                                       column_.width),
                           "give every line the header's columns");
        return take_value(trim(record.fields[column_.at]));
    }

    [[nodiscard]] Status take_header(const std::vector<std::string_view>& names) {
        std::size_t found = 0;
        for (std::size_t i = 0; i < names.size(); ++i) {
            const std::string_view name = trim(names[i]);
            const std::string_view what = name.substr(0, name.rfind('_'));
            const bool centimetres = name.ends_with("_cm");
            if ((what != "spacing" && what != "position") ||
                (!centimetres && !name.ends_with("_mm")))
                continue;
            ++found;
            column_.at = i;
            column_.positions = what == "position";
            column_.centimetres = centimetres;
        }
        if (found != 1)
            return problem(
                fmt::format("{} columns spacing_mm or position_mm, expected one; {}", found,
                            columns_found(names)),
                "name the one column by what it holds (_cm instead of _mm where it is in "
                "centimetres)");
        column_.width = names.size();
        return Done{};
    }

    [[nodiscard]] Status take_value(std::string_view content) {
        constexpr double greatest_mm = 1e9;
        const auto value = csv_number(content, reader_.separator());
        const std::string_view field = column_.positions ? "position" : "spacing";
        if (!value || std::fabs(*value) > greatest_mm)
            return problem(fmt::format("{} is '{}', expected one number in {}", field,
                                       content.substr(0, 40), column_.centimetres ? "cm" : "mm"),
                           "one number a line, with a decimal point");
        const auto value_um = static_cast<std::int64_t>(
            std::llround(*value * (column_.centimetres ? 10'000.0 : 1000.0)));
        if (!column_.positions && value_um < 0)
            return problem(fmt::format("spacing_mm is {}, expected 0 or more", content),
                           "a spacing is the distance to the next seed");
        if (column_.positions && !column_.values_um.empty() && value_um < column_.values_um.back())
            return problem(fmt::format("position_mm {} comes after a greater one", content),
                           "give positions in travel order, counted from one end");
        column_.values_um.push_back(value_um);
        return Done{};
    }

    CsvReader reader_;
    std::string file_;
    std::uint64_t line_ = 1;
    Column column_;
};

void tally_spacings(const Column& column, measures::SpacingTally& tally) {
    if (!column.positions) {
        for (const std::int64_t spacing_um : column.values_um)
            tally.add(spacing_um);
        return;
    }
    for (std::size_t i = 1; i < column.values_um.size(); ++i)
        tally.add(column.values_um[i] - column.values_um[i - 1]);
}

} // namespace

Result<AuditReport> audit_spacings(const OpenBytes& open, const AuditOptions& options) {
    if (!options.overrides.spacing_um)
        return usage_error("spacing_mm", "a list of spacings does not say its theoretical spacing",
                           "give it: `spacing_mm` 180");
    if (*options.overrides.spacing_um <= 0)
        return usage_error("spacing_mm",
                           fmt::format("{} um is no spacing", *options.overrides.spacing_um),
                           "give a length above 0, say 180");
    auto source = open();
    if (!source)
        return source.error();
    const auto column = ColumnReader{**source, options.file}.read();
    if (!column)
        return column.error();
    measures::SpacingTally tally{*options.overrides.spacing_um};
    tally_spacings(*column, tally);
    if (tally.counts().spacings() == 0)
        return input_error(options.file, "there is no spacing in it",
                           "give at least one spacing or two positions");
    AuditReport report;
    report.file = options.file;
    report.from_spacings = true;
    report.setup.spacing_um = options.overrides.spacing_um;
    auto choice = choose_profile(options, droplog::Header{}, ledger::Mode::single);
    if (!choice)
        return choice.error();
    report.profile = choice->profile;
    if (!choice->note.empty())
        report.notes.push_back(choice->note);
    ChannelReport channel;
    channel.results = tally.result(report.profile.confidence);
    channel.notes = channel.spacing()->notes;
    channel.notes.emplace_back(
        "Spacings as listed: no commanded positions, so no ledger and no placement.");
    add_other_list(*channel.spacing(), report);
    judge_channel(report, channel);
    hold_back(report, channel);
    report.outcome = channel.judgement.outcome;
    report.channels.push_back(std::move(channel));
    return report;
}

} // namespace dropledger::audit
