// The keys of one TOML table, each read once, checked, and none left over.
//
// Assumes: keys wear their unit; the first thing wrong is the one reported.
// Undefined when: a key is missing, of the wrong kind or out of range: the target keeps its value
// and problem() says file:line, key, what stood there and what was expected.
#pragma once

#include "analysis/base/result.hpp"

#include <toml++/toml.h>

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
    TomlFields(const toml::table& table, std::string section, std::string file);

    void number(const char* key, double& target, Limits limits,
                Presence presence = Presence::optional);
    void integer(const char* key, std::int64_t& target, Limits limits,
                 Presence presence = Presence::optional);
    void text(const char* key, std::string& target, Presence presence = Presence::optional);
    // A number in thousands of the target's unit: spacing_mm into µm.
    void thousandths(const char* key, std::int64_t& target, Limits limits,
                     Presence presence = Presence::optional);
    [[nodiscard]] bool has(const char* key) const { return table_->contains(key); }
    [[nodiscard]] const toml::table* table(const char* key, Presence presence = Presence::optional);
    [[nodiscard]] std::vector<const toml::table*> tables(const char* key);

    void complain(const char* key, const std::string& expected);
    // The first thing wrong, a key nobody asked for included.
    [[nodiscard]] std::optional<Error> problem() const;

private:
    [[nodiscard]] const toml::node* find(const char* key, Presence presence);
    void fail(const toml::node& place, std::string what, std::string remedy);

    const toml::table* table_;
    std::string section_;
    std::string file_;
    std::set<std::string, std::less<>> asked_;
    std::optional<Error> problem_;
};

} // namespace dropledger::bench_virtual
