#include "bench/capture/formats/vcd_signals.hpp"

#include "analysis/base/text.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace dropledger::capture {

namespace {

constexpr std::size_t most_signals = 100'000;
constexpr std::size_t most_shown = 24;
constexpr std::size_t widest = 4096;
constexpr std::size_t most_scopes = 100; // inside each other
constexpr std::size_t longest_path = 1000;
constexpr std::int64_t farthest_bit = 1'000'000; // that a range may name

// "name[7:0]" or "name [3]" as name and what stands in the brackets.
struct Reference {
    std::string name;
    std::optional<std::string> index;
};

Reference split_reference(const std::string& text) {
    const std::size_t open = text.rfind('[');
    if (open == std::string::npos || open == 0 || text.back() != ']')
        return {.name = text, .index = std::nullopt};
    return {.name = std::string(trim(std::string_view{text}.substr(0, open))),
            .index = text.substr(open + 1, text.size() - open - 2)};
}

} // namespace

Status VcdSignals::enter(std::string_view scope, const Tokens& at) {
    if (scopes_.size() >= most_scopes || scope.size() > longest_path)
        return at.error(fmt::format("scopes {} deep, or with a name of over {} characters",
                                    scopes_.size() + 1, longest_path),
                        "export only the signals that are wired");
    scopes_.emplace_back(scope);
    return Done{};
}

void VcdSignals::leave() {
    if (!scopes_.empty())
        scopes_.pop_back();
}

Status VcdSignals::declare(std::span<const std::string> words, const Tokens& at) {
    const auto width = words.size() < 4 ? std::nullopt : parse_uint(words[1]);
    if (!width || *width < 1 || *width > widest)
        return at.error("a $var that is not `type width code name`",
                        "export the capture again as a value change dump (IEEE 1364)");
    if (signals_.size() >= most_signals)
        return at.error(fmt::format("over {} signals", most_signals),
                        "export only those that are wired");
    std::string reference;
    for (const std::string& word : words.subspan(3))
        reference += word;
    const Reference parts = split_reference(reference);
    Signal signal{.code = words[2], .name = parts.name, .path = {}, .width = *width};
    if (parts.index) {
        const std::size_t colon = parts.index->find(':');
        const auto left = parse_int(parts.index->substr(0, colon));
        const auto right =
            colon == std::string::npos ? left : parse_int(parts.index->substr(colon + 1));
        const auto near = [](std::optional<std::int64_t> bit) {
            return bit && *bit >= -farthest_bit && *bit <= farthest_bit;
        };
        signal.has_range = near(left) && near(right);
        signal.left = left.value_or(0);
        signal.right = right.value_or(0);
    }
    for (const std::string& scope : scopes_)
        signal.path += scope + ".";
    signal.path += signal.name;
    if (signal.path.size() + signal.code.size() > longest_path)
        return at.error(fmt::format("a signal whose name has over {} characters", longest_path),
                        "export it under a shorter name");
    signals_.push_back(std::move(signal));
    return Done{};
}

std::optional<std::size_t> VcdSignals::bit_of(const Signal& signal, std::string_view index) {
    const auto bit = parse_int(index);
    if (!bit || !signal.has_range || *bit < std::min(signal.left, signal.right) ||
        *bit > std::max(signal.left, signal.right))
        return std::nullopt;
    return static_cast<std::size_t>(signal.left >= signal.right ? *bit - signal.right
                                                                : signal.right - *bit);
}

// One bit each; a signal that has several codes is several.
std::vector<VcdSignals::Found> VcdSignals::meant(const std::string& wire) const {
    const Reference wanted = split_reference(wire);
    std::vector<Found> found;
    for (const Signal& signal : signals_) {
        const bool plain =
            signal.width == 1 && !signal.has_range && (wire == signal.name || wire == signal.path);
        if (plain)
            found.push_back({&signal, 0});
        if (!wanted.index || (wanted.name != signal.name && wanted.name != signal.path))
            continue;
        const auto bit = bit_of(signal, *wanted.index);
        if (bit && *bit < signal.width)
            found.push_back({&signal, *bit});
    }
    return found;
}

std::string VcdSignals::names() const {
    std::string list;
    for (std::size_t i = 0; i < std::min(signals_.size(), most_shown); ++i) {
        const Signal& signal = signals_[i];
        list += (i == 0 ? "" : ", ") + signal.path;
        if (signal.has_range)
            list += signal.left == signal.right ? fmt::format("[{}]", signal.left)
                                                : fmt::format("[{}:{}]", signal.left, signal.right);
    }
    if (signals_.size() > most_shown)
        list += fmt::format(" and {} more", signals_.size() - most_shown);
    return list;
}

Result<Taps> VcdSignals::taps(std::span<const std::string> wires, const std::string& where) const {
    Taps taps;
    for (std::size_t wire = 0; wire < wires.size(); ++wire) {
        const std::vector<Found> found = meant(wires[wire]);
        if (found.empty())
            return input_error(where, fmt::format("has no signal `{}` of one bit", wires[wire]),
                               fmt::format("it has: {}", names()));
        const bool one = std::all_of(found.begin(), found.end(), [&](const Found& other) {
            return other.signal->code == found.front().signal->code &&
                   other.bit == found.front().bit;
        });
        if (!one)
            return input_error(where,
                               fmt::format("has {} signals named `{}`", found.size(), wires[wire]),
                               fmt::format("name it with its scopes: {}, or {}",
                                           found[0].signal->path, found[1].signal->path));
        taps[found.front().signal->code].push_back({wire, found.front().bit});
    }
    return taps;
}

} // namespace dropledger::capture
