#include "bench/commands/run/screen/screen_text.hpp"

#include "analysis/base/result.hpp"
#include "analysis/base/shown_text.hpp"
#include "bench/recorder/protocol/lines/words.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

namespace dropledger::cli {

namespace {

bool begins_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
}

std::size_t width_of(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), begins_character));
}

// The first characters that fit; the last one says that something was cut.
std::string cut(const std::string& shown, std::size_t columns) {
    if (width_of(shown) <= columns)
        return shown;
    std::string out;
    std::size_t width = 0;
    for (const char c : shown) {
        width += begins_character(c) ? 1U : 0U;
        if (width >= columns)
            break;
        out += c;
    }
    return out + "~";
}

std::string padded(const std::string& text, std::size_t columns) {
    const std::string fits = cut(text, columns);
    return fits + std::string(columns - width_of(fits), ' ');
}

double share(std::uint64_t hits, std::uint64_t of) {
    return of == 0 ? 0.0 : static_cast<double>(hits) / static_cast<double>(of);
}

std::string percent(std::uint64_t hits, std::uint64_t of) {
    return of == 0 ? "-" : fmt::format("{:.1f} %", 100.0 * share(hits, of));
}

std::string limit_words(const char* what, const std::optional<double>& limit) {
    return limit ? fmt::format("{} {:.1f} %", what, 100.0 * *limit) : std::string{};
}

bool beyond(std::uint64_t hits, std::uint64_t of, const std::optional<double>& limit) {
    return limit && share(hits, of) > *limit;
}

std::string bar(double part, std::size_t width) {
    const auto full =
        static_cast<std::size_t>(std::clamp(part, 0.0, 1.0) * static_cast<double>(width));
    return fmt::format("[{}{}]", std::string(full, '#'), std::string(width - full, '.'));
}

std::string duration(double seconds) {
    const auto whole = static_cast<std::int64_t>(std::ceil(std::max(0.0, seconds)));
    if (whole >= 3600)
        return fmt::format("{} h {:02} min", whole / 3600, whole % 3600 / 60);
    return whole >= 60 ? fmt::format("{} min {:02} s", whole / 60, whole % 60)
                       : fmt::format("{} s", whole);
}

// What needs a look at a unit, the gravest first; empty where nothing does.
std::string note_of(const ScreenUnit& unit) {
    if (!unit.tally.last_fault.empty())
        return recorder::fault_in_words(unit.tally.last_fault);
    if (unit.dry >= dry_drops)
        return fmt::format("no seed for {} drops", unit.dry);
    return "";
}

bool is_high(const ScreenModel& model, const ScreenUnit& unit) {
    return beyond(unit.tally.miss, unit.tally.settled, model.miss_limit) ||
           beyond(unit.tally.over, unit.tally.settled, model.multiples_limit);
}

// A unit that was decided on and has changed since is open again: the audit judges the whole run.
SoFar now(const ScreenModel& model, const ScreenUnit& unit) {
    const bool high = is_high(model, unit);
    const bool changed = (unit.so_far == SoFar::within && (high || unit.dry >= dry_drops)) ||
                         (unit.so_far == SoFar::outside && !high &&
                          model.mode == droplog::Mode::single); // portions: short ones count, too
    return changed ? SoFar::open : unit.so_far;
}

std::string so_far_words(const ScreenModel& model, const ScreenUnit& unit) {
    switch (now(model, unit)) {
    case SoFar::within:
        return "within";
    case SoFar::outside:
        return "outside";
    case SoFar::open:
        return is_high(model, unit) ? "open, high" : "open";
    }
    throw BrokenInvariant("a verdict so far without words");
}

Ink ink_of(const ScreenModel& model, const ScreenUnit& unit) {
    const SoFar so_far = now(model, unit);
    if (so_far == SoFar::outside || !note_of(unit).empty())
        return Ink::bad;
    if (so_far == SoFar::within)
        return Ink::good;
    return so_far_words(model, unit) == "open" ? Ink::plain : Ink::look;
}

constexpr std::size_t row_width = 4;
constexpr std::size_t unit_width = 12;

std::string begin_of(const ScreenUnit& unit) {
    return padded(unit.row.empty() ? "-" : unit.row, row_width) +
           padded(unit.unit.empty() ? fmt::format("channel {}", unit.channel) : unit.unit,
                  unit_width);
}

std::string header_of(const ScreenModel& model) {
    const std::string begin = padded("row", row_width) + padded("unit", unit_width);
    if (model.mode == droplog::Mode::line)
        return begin + fmt::format("{:>8} {:>9} {:>9}", "seeds", "seeds/m", "wanted");
    if (model.mode == droplog::Mode::portion)
        return begin +
               fmt::format("{:>6} {:>13} {:>6} {:>13}  so far", "drops", "empty", "short", "over");
    return begin + fmt::format("{:>6} {:>13} {:>13}  so far", "drops", "misses", "multiples");
}

std::string counted(std::uint64_t hits, std::uint64_t of) {
    return fmt::format("{:>5} {:>7}", hits, percent(hits, of));
}

std::string counts_of(const ScreenModel& model, const ScreenUnit& unit) {
    const recorder::ChannelTally& t = unit.tally;
    if (model.mode == droplog::Mode::line)
        return fmt::format("{:>8} {:>9} {:>9}  ", t.pulses,
                           unit.seeds_per_m ? fmt::format("{:.1f}", *unit.seeds_per_m) : "-",
                           model.wanted_per_m ? fmt::format("{:.1f}", *model.wanted_per_m) : "-");
    if (model.mode == droplog::Mode::portion)
        return fmt::format("{:>6} {} {:>6} {}  ", t.drops, counted(t.miss, t.settled), t.short_of,
                           counted(t.over, t.settled));
    return fmt::format("{:>6} {} {}  ", t.drops, counted(t.miss, t.settled),
                       counted(t.over, t.settled));
}

// What there is to say of a unit behind its counts: the verdict so far, and what needs a look.
std::string words_of(const ScreenModel& model, const ScreenUnit& unit) {
    const std::string note = note_of(unit);
    if (model.mode == droplog::Mode::line || (!note.empty() && unit.so_far == SoFar::open))
        return note;
    return note.empty() ? so_far_words(model, unit)
                        : fmt::format("{}; {}", so_far_words(model, unit), note);
}

ScreenLine line_of(const ScreenModel& model, const ScreenUnit& unit, std::size_t columns) {
    const std::string text = begin_of(unit) + counts_of(model, unit) + words_of(model, unit);
    return {cut(shown_text(text), columns), ink_of(model, unit)};
}

std::uint64_t done_of(const ScreenModel& model) {
    std::optional<std::uint64_t> fewest;
    for (const ScreenUnit& unit : model.units) {
        const std::uint64_t done =
            model.mode == droplog::Mode::line ? unit.tally.pulses : unit.tally.drops;
        fewest = std::min(fewest.value_or(done), done);
    }
    return fewest.value_or(0);
}

std::string progress_of(const ScreenModel& model) {
    const std::uint64_t done = done_of(model);
    const char* const what = model.mode == droplog::Mode::line ? "seeds" : "drops";
    std::string text = model.wanted == 0
                           ? fmt::format("{} {} a unit", done, what)
                           : fmt::format("{} of {} {} a unit", done, model.wanted, what);
    if (model.seconds_left)
        text += fmt::format(", {} left", duration(*model.seconds_left));
    return text;
}

std::string limits_of(const ScreenModel& model) {
    std::vector<std::string> parts;
    for (const std::string& part :
         {limit_words(model.mode == droplog::Mode::portion ? "empty" : "misses", model.miss_limit),
          limit_words(model.mode == droplog::Mode::portion ? "over" : "multiples",
                      model.multiples_limit)})
        if (!part.empty())
            parts.push_back(part);
    return parts.empty() ? "" : fmt::format("limits: {}; ", fmt::join(parts, ", "));
}

ScreenLine progress_line(const ScreenModel& model, std::size_t columns) {
    const std::string text = progress_of(model);
    const double part = model.wanted == 0 ? 0.0 : share(done_of(model), model.wanted);
    const std::size_t room = columns > width_of(text) + 3 ? columns - width_of(text) - 3 : 0;
    const std::size_t width = std::min<std::size_t>(room, 50);
    return {cut(model.wanted == 0 || width < 5 ? text : bar(part, width) + " " + text, columns),
            Ink::plain};
}

// Those that need a look first, else in their order.
std::vector<const ScreenUnit*> shown_first(const ScreenModel& model, std::size_t most) {
    std::vector<const ScreenUnit*> all;
    for (const ScreenUnit& unit : model.units)
        all.push_back(&unit);
    if (all.size() <= most)
        return all;
    std::stable_partition(all.begin(), all.end(), [&](const ScreenUnit* unit) {
        return ink_of(model, *unit) == Ink::bad || ink_of(model, *unit) == Ink::look;
    });
    all.resize(most);
    return all;
}

std::string share_words(std::uint64_t hits, std::uint64_t of,
                        const std::optional<statistics::Interval>& interval) {
    std::string text = fmt::format("{}, {}", hits, percent(hits, of));
    if (interval)
        text += fmt::format(" ({:.1f} to {:.1f} %)", 100.0 * interval->low, 100.0 * interval->high);
    return text;
}

} // namespace

UnitWords words_for(const ScreenModel& model, const ScreenUnit& unit) {
    const recorder::ChannelTally& t = unit.tally;
    UnitWords found{.counts = {}, .words = words_of(model, unit), .ink = ink_of(model, unit)};
    if (model.mode == droplog::Mode::line) {
        found.counts = {
            {"seeds", fmt::to_string(t.pulses)},
            {"seeds/m", unit.seeds_per_m ? fmt::format("{:.1f}", *unit.seeds_per_m) : "-"},
            {"wanted", model.wanted_per_m ? fmt::format("{:.1f}", *model.wanted_per_m) : "-"}};
        return found;
    }
    const bool portion = model.mode == droplog::Mode::portion;
    found.counts = {
        {"drops", fmt::to_string(t.drops)},
        {portion ? "empty" : "misses", share_words(t.miss, t.settled, unit.miss_interval)}};
    if (portion)
        found.counts.push_back({"short", fmt::to_string(t.short_of)});
    found.counts.push_back(
        {portion ? "over" : "multiples", share_words(t.over, t.settled, unit.over_interval)});
    return found;
}

std::string progress_words(const ScreenModel& model) {
    return progress_of(model);
}

std::string limit_words(const ScreenModel& model) {
    return limits_of(model);
}

std::optional<double> part_done(const ScreenModel& model) {
    return model.wanted == 0 ? std::nullopt : std::optional{share(done_of(model), model.wanted)};
}

std::string name_of(const ScreenUnit& unit) {
    const std::string name =
        unit.unit.empty() ? fmt::format("channel {}", unit.channel) : unit.unit;
    return unit.row.empty() ? name : fmt::format("row {}, {}", unit.row, name);
}

std::vector<ScreenLine> picture_of(const ScreenModel& model, ScreenSize size) {
    const std::size_t columns = std::max<std::size_t>(size.columns, 20) - 1;
    constexpr std::size_t around = 5; // header, limits, progress, the rest, the cursor's line
    const std::size_t most = size.lines > around ? size.lines - around : 1;
    std::vector<ScreenLine> lines{{cut(header_of(model), columns), Ink::plain}};
    for (const ScreenUnit* const unit : shown_first(model, most))
        lines.push_back(line_of(model, *unit, columns));
    if (model.units.size() > most)
        lines.push_back(
            {cut(fmt::format("{} more units", model.units.size() - most), columns), Ink::plain});
    lines.push_back(progress_line(model, columns));
    lines.push_back(
        {cut(limits_of(model) + "provisional, the audit decides", columns), Ink::plain});
    return lines;
}

std::string plain_line_of(const ScreenModel& model) {
    std::string text = progress_of(model) + " (provisional)";
    for (const ScreenUnit& unit : model.units) {
        const recorder::ChannelTally& t = unit.tally;
        if (beyond(t.miss, t.settled, model.miss_limit))
            text += fmt::format("; {}: no seed in {}", name_of(unit), percent(t.miss, t.settled));
        if (beyond(t.over, t.settled, model.multiples_limit))
            text += fmt::format("; {}: too many in {}", name_of(unit), percent(t.over, t.settled));
        if (const std::string note = note_of(unit); !note.empty())
            text += fmt::format("; {}: {}", name_of(unit), note);
    }
    return text;
}

std::vector<std::string> wrapped(std::string_view text, std::size_t columns) {
    std::vector<std::string> lines;
    while (width_of(text) > columns) {
        std::size_t at = 0;
        for (std::size_t width = 0; at < text.size(); ++at) {
            width += begins_character(text[at]) ? 1U : 0U;
            if (width > columns)
                break;
        }
        const std::size_t blank = text.substr(0, at + 1).rfind(' ');
        const std::size_t end = blank == std::string_view::npos || blank == 0 ? at : blank;
        lines.emplace_back(text.substr(0, end));
        text.remove_prefix(end + (end == blank ? 1 : 0));
    }
    lines.emplace_back(text);
    return lines;
}

} // namespace dropledger::cli
