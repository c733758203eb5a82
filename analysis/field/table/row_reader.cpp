#include "analysis/field/table/row_reader.hpp"

#include "analysis/base/text.hpp"

#include <GeographicLib/UTMUPS.hpp>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace dropledger::field {

namespace {

constexpr std::int64_t most = std::numeric_limits<std::int32_t>::max();

bool is_one_of(std::string_view text, std::span<const std::string_view> words) {
    return std::find(words.begin(), words.end(), lower(text)) != words.end();
}

bool is_blank(std::string_view text) {
    constexpr std::array<std::string_view, 9> words{"",     "na", "n/a", "nan", "null",
                                                    "none", "-",  "--",  "?"};
    return is_one_of(text, words);
}

// Where an antenna without fix stands.
bool is_nowhere(const Place& at) {
    constexpr double near_zero = 1e-6;
    return std::abs(at.x) < near_zero && std::abs(at.y) < near_zero;
}

} // namespace

void RowReader::begin(const CsvRecord& record) {
    record_ = &record;
    reason_.clear();
    const std::size_t width = record.fields.size();
    if (record.damaged) {
        reason_ = "a quote that is not closed, or a line too long";
        return;
    }
    bool fits = width >= header_->width;
    for (std::size_t i = header_->width; i < width; ++i)
        fits &= trim(record.fields[i]).empty();
    if (!fits)
        reason_ = fmt::format("{} fields where the header has {}", width, header_->width);
}

std::string_view RowReader::text(Column column) const {
    const std::size_t at = header_->of(column);
    return at == Header::absent || at >= record_->fields.size() ? std::string_view{}
                                                                : trim(record_->fields[at]);
}

std::string_view RowReader::name(Column column) {
    const std::string_view shown = text(column);
    if (shown.empty() && header_->has(column))
        fail(column, "is blank");
    if (parse_int(shown))
        return shown;
    const auto real = parse(shown); // spreadsheets write 1 as 1.0
    if (real && *real == std::floor(*real))
        return shown.substr(0, shown.find_first_of(".,"));
    return shown;
}

std::optional<double> RowReader::parse(std::string_view shown) const {
    if (!mapping_->decimal_comma)
        return csv_number(shown, header_->separator);
    std::string dotted(shown);
    std::replace(dotted.begin(), dotted.end(), ',', '.');
    return parse_double(dotted);
}

double RowReader::fail(Column column, std::string_view why) {
    if (reason_.empty())
        reason_ = fmt::format("{} '{}' {}", column_names.at(static_cast<std::size_t>(column)),
                              text(column).substr(0, 40), why);
    return 0.0;
}

double RowReader::number(Column column, double least, double greatest) {
    if (!reason_.empty())
        return 0.0;
    const auto value = parse(text(column));
    if (!value)
        return fail(column, "is no number");
    const double ours = *value * mapping_->factors.at(static_cast<std::size_t>(column));
    return ours >= least && ours <= greatest ? ours : fail(column, "is out of range");
}

std::int64_t RowReader::whole(Column column, std::int64_t least, std::int64_t greatest) {
    if (!reason_.empty())
        return 0;
    const std::string_view shown = text(column);
    std::optional<std::int64_t> value = parse_int(shown);
    if (!value) { // spreadsheets write 1 as 1.0
        const auto real = parse(shown);
        if (real && std::abs(*real) < 1e15 && *real == std::floor(*real))
            value = static_cast<std::int64_t>(*real);
    }
    if (!value)
        return static_cast<std::int64_t>(fail(column, "is no whole number"));
    return *value >= least && *value <= greatest
               ? *value
               : static_cast<std::int64_t>(fail(column, "is out of range"));
}

std::uint32_t RowReader::seen(Facts& facts) {
    if (reason_.empty() && is_blank(text(Column::seen))) {
        ++facts.seen_blank;
        if (answers_->blank_seen == Means::silent)
            return 0;
        fail(Column::seen, "is blank");
        return 0;
    }
    constexpr std::array<std::string_view, 4> no{"no", "n", "false", "f"};
    constexpr std::array<std::string_view, 4> yes{"yes", "y", "true", "t"};
    if (is_one_of(text(Column::seen), no))
        return 0;
    if (is_one_of(text(Column::seen), yes))
        return 1;
    return static_cast<std::uint32_t>(whole(Column::seen, 0, most));
}

// A word that is not known is a machine's own name for an alert; where most rows have one, it is asked
// about (sense.hpp).
bool RowReader::alert(Facts& facts) {
    constexpr std::array<std::string_view, 8> no{"no",  "n",  "false", "f",
                                                 "off", "ok", "0.0",   "0,0"};
    constexpr std::array<std::string_view, 9> yes{"yes",   "y",     "true", "t",   "on",
                                                  "alarm", "alert", "x",    "miss"};
    const std::string_view shown = text(Column::alert);
    if (shown == "0" || shown == "1")
        return shown == "1";
    if (is_blank(shown) || is_one_of(shown, no))
        return false;
    if (const auto value = parse(shown))
        return *value != 0.0;
    facts.alert_words += is_one_of(shown, yes) ? 0 : 1;
    return true;
}

void RowReader::place(FieldDrop& drop) {
    const bool geographic = header_->has(Column::lat) && header_->has(Column::lon);
    const Column east = geographic ? Column::lon : Column::east_m;
    const Column north = geographic ? Column::lat : Column::north_m;
    if (is_blank(text(east)) || is_blank(text(north))) {
        drop.has_place = false;
        return;
    }
    constexpr double far_m = 1e8; // beyond any plane system
    drop.at = geographic ? Place{number(east, -180.0, 180.0), number(north, -90.0, 90.0)}
                         : Place{number(east, -far_m, far_m), number(north, -far_m, far_m)};
    const bool utm = !geographic && mapping_->utm.has_value();
    drop.has_place = !((geographic || utm) && is_nowhere(drop.at));
    if (!utm || !drop.has_place || !reason_.empty())
        return;
    try {
        GeographicLib::UTMUPS::Reverse(mapping_->utm->zone, mapping_->utm->north, drop.at.x,
                                       drop.at.y, drop.at.y, drop.at.x);
    } catch (const GeographicLib::GeographicErr&) {
        fail(Column::east_m, "lies outside the UTM zone");
    }
}

// What cannot be read is taken for the time of the row before: its order in the night is kept.
void RowReader::time(FieldDrop& drop, Facts& facts) {
    drop.time_s = last_time_s_;
    const std::string_view shown = text(Column::time);
    if (!header_->has(Column::time) || !reason_.empty())
        return;
    const double factor = mapping_->factors.front();
    if (factor != 1.0) {
        if (const auto value = parse(shown); value && std::abs(*value * factor) < 1e11) {
            const double time_s = *value * factor + mapping_->time_zero_s;
            drop.time_s = last_time_s_ =
                mapping_->time_zero_s == 0.0 ? time_s : utc_of(time_s, facts);
            return;
        }
    }
    const auto read = parse_table_time(shown, times_);
    if (!read) {
        ++facts.times_unread;
        return;
    }
    if (read->shows != DateOrder::unknown) {
        facts.dates_show = read->shows;
        times_.order = times_.order == DateOrder::unknown ? read->shows : times_.order;
    }
    if (read->zone_minutes)
        facts.zone_minutes = read->zone_minutes;
    facts.dates_ambiguous |= read->ambiguous;
    facts.has_dates &= read->has_date;
    drop.time_s = last_time_s_ = read->is_local ? utc_of(read->seconds, facts) : read->seconds;
}

double RowReader::utc_of(double local_s, Facts& facts) const {
    if (!mapping_->zone) {
        facts.times_local = true;
        return local_s;
    }
    const TimeZone::FromLocal time = mapping_->zone->from_local(local_s, last_time_s_);
    facts.times_doubtful += time.doubtful ? 1 : 0;
    return time.utc_s;
}

FieldDrop RowReader::drop(Facts& facts) {
    FieldDrop drop;
    drop.drop = whole(Column::drop, -most, 1'000'000'000'000) / answers_->drop_step;
    drop.target = static_cast<std::uint32_t>(whole(Column::target, 0, most));
    drop.seen = seen(facts);
    place(drop);
    time(drop, facts);
    drop.alert = alert(facts);
    if (!text(Column::offset_mm).empty()) {
        drop.offset_mm = static_cast<float>(number(Column::offset_mm, -1e6, 1e6));
        drop.has_offset = true;
    }
    drop.line = static_cast<std::uint32_t>(record_->line + header_->titles);
    return drop;
}

} // namespace dropledger::field
