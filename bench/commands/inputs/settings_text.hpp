// A settings file of `run` as text: [run] and [[channel]], each value with a word on it.
//
// Assumes: keys are plain TOML keys. What is not sure is marked UNSURE in its comment.
#pragma once

#include <string>
#include <vector>

namespace dropledger::cli {

struct SettingsEntry {
    std::string key;
    std::string value;   // as TOML; empty: the key is not set, and only its comment stands there
    std::string comment; // may be empty
};

struct SettingsText {
    std::vector<std::string> head; // comment lines
    std::vector<SettingsEntry> run;
    std::vector<std::vector<SettingsEntry>> channels;
};

[[nodiscard]] std::string toml_text(std::string_view text); // in quotes

[[nodiscard]] std::string to_toml(const SettingsText& settings);

} // namespace dropledger::cli
