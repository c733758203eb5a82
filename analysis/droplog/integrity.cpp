#include "analysis/droplog/integrity.hpp"

#include "analysis/base/text.hpp"

#include <algorithm>

namespace dropledger::droplog {

namespace {

const std::string* find_in(const Settings& settings, std::string_view key) {
    const auto found = settings.find(key);
    return found == settings.end() ? nullptr : &found->second;
}

std::string text_of(const std::string* value) {
    return value == nullptr ? std::string{} : *value;
}

std::optional<std::int64_t> number_in(const std::string* text) {
    return text == nullptr ? std::nullopt : parse_int(*text);
}

std::uint64_t first_of(const std::vector<std::uint64_t>& lines) {
    return lines.empty() ? 0 : lines.front();
}

} // namespace

std::vector<FoundFlaw> Integrity::flaws() const {
    std::vector<FoundFlaw> all = run_flaws;
    const auto add = [&](Flaw flaw, std::uint64_t count, std::uint64_t line) {
        if (count > 0)
            all.push_back({flaw, count, line});
    };
    add(Flaw::not_closed, close_reason ? 0 : 1, 0);
    add(Flaw::torn_tail, torn_tail ? 1 : 0, 0);
    add(Flaw::sequence_gap, sequence_gaps == 0 ? 0 : std::max(missing_lines, sequence_gaps),
        first_gap_line);
    add(Flaw::lines_lost, lost, first_lost_line);
    add(Flaw::out_of_order, lines.out_of_order, first_out_of_order_line);
    add(Flaw::conflicting, lines.conflicting, first_of(conflict_at));
    add(Flaw::seal_broken, seals.intact ? 0 : 1, seals.first_bad_line.value_or(0));
    add(Flaw::no_seals, seals.intact && seals.count == 0 ? 1 : 0, 0);
    add(Flaw::ending_differs, differing_ending == 0 ? 0 : 1, differing_ending);
    add(Flaw::bad_signature, bad_signature ? 1 : 0, 0);
    std::stable_sort(all.begin(), all.end(),
                     [](const FoundFlaw& a, const FoundFlaw& b) { return a.flaw < b.flaw; });
    return all;
}

std::vector<FoundFlaw> Integrity::contradictions() const {
    std::vector<FoundFlaw> all = flaws();
    std::erase_if(all, [](const FoundFlaw& one) { return !row_of(one.flaw).contradicts; });
    return all;
}

bool Integrity::complete() const {
    const std::vector<FoundFlaw> all = flaws();
    return std::none_of(all.begin(), all.end(),
                        [](const FoundFlaw& one) { return row_of(one.flaw).incomplete; });
}

MissingLines Integrity::missing() const {
    MissingLines missing{.at_least = missing_lines + lost + lines.out_of_order};
    for (const FoundFlaw& one : flaws()) {
        if (one.flaw == Flaw::index_gap || one.flaw == Flaw::count_not_agreed)
            missing.at_least = std::max(missing.at_least, one.count);
        missing.may_be_more |= row_of(one.flaw).hides_lines;
    }
    return missing;
}

const std::string* Header::find(std::string_view key) const {
    return find_in(run, key);
}

const std::string* Header::find(int channel, std::string_view key) const {
    const auto found = channels.find(channel);
    return found == channels.end() ? nullptr : find_in(found->second, key);
}

std::string Header::text(std::string_view key) const {
    return text_of(find(key));
}

std::string Header::text(int channel, std::string_view key) const {
    return text_of(find(channel, key));
}

std::optional<std::int64_t> Header::number(std::string_view key) const {
    return number_in(find(key));
}

std::optional<std::int64_t> Header::number(int channel, std::string_view key) const {
    return number_in(find(channel, key));
}

} // namespace dropledger::droplog
