#include "analysis/audit/spacings.hpp"
#include "analysis/audit/judge.hpp"
#include "analysis/audit/profile_choice.hpp"
#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <string_view>

namespace dropledger::audit {

namespace {

constexpr std::size_t longest_list = std::size_t{256} * 1024 * 1024; // bytes

struct Column {
    bool positions = false;
    std::vector<std::int64_t> values_um;
};

class ColumnReader {
public:
    explicit ColumnReader(const std::string& file) : file_(file) {}

    [[nodiscard]] Result<Column> read(std::string_view text) {
        constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF"; // spreadsheets write one
        if (text.substr(0, byte_order_mark.size()) == byte_order_mark)
            text.remove_prefix(byte_order_mark.size());
        for (const std::string_view line : split(text, '\n')) {
            ++line_;
            const std::string_view content = trim(line);
            if (content.empty() || content.front() == '#')
                continue;
            const Status status = has_header_ ? take_value(content) : take_header(content);
            if (!status)
                return status.error();
        }
        if (!has_header_)
            return problem("no header", "start the file with spacing_mm or position_mm");
        return column_;
    }

private:
    [[nodiscard]] Error problem(std::string what, std::string remedy) const {
        return {ErrorKind::input, fmt::format("{}:{}", file_, line_), std::move(what),
                std::move(remedy)};
    }

    [[nodiscard]] Status take_header(std::string_view name) {
        if (name != "spacing_mm" && name != "position_mm")
            return problem(fmt::format("header is '{}', expected spacing_mm or position_mm", name),
                           "name the one column by what it holds");
        column_.positions = name == "position_mm";
        has_header_ = true;
        return Done{};
    }

    [[nodiscard]] Status take_value(std::string_view content) {
        constexpr double greatest_mm = 1e9;
        const auto value = parse_double(content);
        const std::string_view field = column_.positions ? "position_mm" : "spacing_mm";
        if (!value || std::fabs(*value) > greatest_mm)
            return problem(fmt::format("{} is '{}', expected one number in mm", field, content),
                           "one number a line, with a decimal point");
        const auto value_um = static_cast<std::int64_t>(std::llround(*value * 1000.0));
        if (!column_.positions && value_um < 0)
            return problem(fmt::format("spacing_mm is {}, expected 0 or more", content),
                           "a spacing is the distance to the next seed");
        if (column_.positions && !column_.values_um.empty() && value_um < column_.values_um.back())
            return problem(fmt::format("position_mm {} comes after a greater one", content),
                           "give positions in travel order, counted from one end");
        column_.values_um.push_back(value_um);
        return Done{};
    }

    std::string file_;
    std::size_t line_ = 0;
    bool has_header_ = false;
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
        return Error{ErrorKind::usage, "spacing_mm",
                     "a list of spacings does not say its theoretical spacing",
                     "give it: `spacing_mm` 180"};
    if (*options.overrides.spacing_um <= 0)
        return Error{ErrorKind::usage, "spacing_mm",
                     fmt::format("{} um is no spacing", *options.overrides.spacing_um),
                     "give a length above 0, say 180"};
    auto source = open();
    if (!source)
        return source.error();
    const auto text = read_whole(**source, longest_list);
    if (!text)
        return text.error();
    const auto column = ColumnReader{options.file}.read(*text);
    if (!column)
        return column.error();
    measures::SpacingTally tally{*options.overrides.spacing_um};
    tally_spacings(*column, tally);
    if (tally.counts().spacings() == 0)
        return Error{ErrorKind::input, options.file, "there is no spacing in it",
                     "give at least one spacing or two positions"};
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
    channel.has_ledger = false;
    channel.spacing = tally.result(report.profile.confidence);
    channel.notes = channel.spacing->notes;
    channel.notes.emplace_back(
        "Spacings as listed: no commanded positions, so no ledger and no placement.");
    judge_channel(report, channel);
    report.outcome = channel.judgement.outcome;
    report.channels.push_back(std::move(channel));
    return report;
}

} // namespace dropledger::audit
