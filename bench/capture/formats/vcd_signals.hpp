// The signals that a value change dump declares, and which of them a wiring means.
//
// Undefined when: a name fits no signal, or several that are not the same: an error that says which
// there are.
#pragma once

#include "bench/capture/formats/tokens.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace dropledger::capture {

// A wire is this bit, counted from the right, of a signal's value.
struct Tap {
    std::size_t wire = 0;
    std::size_t bit = 0;
};

// Hashes a signal's code. Its own type, for the library looks a short table of plain strings through
// from end to end.
struct CodeHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view code) const {
        return std::hash<std::string_view>{}(code);
    }
};
using Taps = std::unordered_map<std::string, std::vector<Tap>, CodeHash, std::equal_to<>>;

class VcdSignals {
public:
    [[nodiscard]] Status enter(std::string_view scope, const Tokens& at);
    void leave();
    // `words`: what stands between `$var` and `$end`.
    [[nodiscard]] Status declare(std::span<const std::string> words, const Tokens& at);

    // From a signal's code in the dump to what is wanted of it.
    [[nodiscard]] Result<Taps> taps(std::span<const std::string> wires,
                                    const std::string& where) const;

private:
    struct Signal {
        std::string code;
        std::string name; // without scopes and range
        std::string path;
        std::size_t width = 1;
        std::int64_t left = 0; // of its range [left:right]
        std::int64_t right = 0;
        bool has_range = false;
    };
    struct Found {
        const Signal* signal = nullptr;
        std::size_t bit = 0;
    };

    [[nodiscard]] static std::optional<std::size_t> bit_of(const Signal& signal,
                                                           std::string_view index);
    [[nodiscard]] std::vector<Found> meant(const std::string& wire) const;
    [[nodiscard]] std::string names() const;

    std::vector<std::string> scopes_;
    std::vector<Signal> signals_;
};

} // namespace dropledger::capture
