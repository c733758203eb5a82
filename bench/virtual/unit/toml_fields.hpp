// The keys of one TOML table, each read once, checked, and none left over.
//
// Assumes: keys wear their unit; the first thing wrong is the one reported.
// Undefined when: a key is missing, of the wrong kind or out of range: the target keeps its value
// and the document's problem says file:line, key, what stood there and what was expected.
#pragma once

#include "analysis/base/readers/toml_table.hpp"

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace dropledger::bench_virtual {

struct Limits {
    double low = 0.0;
    double high = 0.0;
};

enum class Presence : std::uint8_t { optional, required };

class TomlFields {
public:
    TomlFields(TomlTable table, std::string section);

    void number(const char* key, double& target, Limits limits,
                Presence presence = Presence::optional);
    void integer(const char* key, std::int64_t& target, Limits limits,
                 Presence presence = Presence::optional);
    void text(const char* key, std::string& target, Presence presence = Presence::optional);
    // A number in thousands of the target's unit: spacing_mm into µm.
    void thousandths(const char* key, std::int64_t& target, Limits limits,
                     Presence presence = Presence::optional);
    [[nodiscard]] bool has(const char* key) const { return table_.has(key); }
    [[nodiscard]] std::optional<TomlTable> table(const char* key,
                                                 Presence presence = Presence::optional);
    [[nodiscard]] std::vector<TomlTable> tables(const char* key);

    void complain(const char* key, const std::string& expected);
    // Complains of a key that nobody asked for.
    void finish();

private:
    [[nodiscard]] bool find(const char* key, Presence presence);
    [[nodiscard]] std::string shown(const char* key) const;

    TomlTable table_;
    std::string section_;
    std::set<std::string, std::less<>> asked_;
};

} // namespace dropledger::bench_virtual
