// One value of a run's settings file set anew, all other lines and remarks as they were.
//
// Assumes: the file is TOML as `dropledger run` reads it, one key a line.
// Undefined when: the table is not there: std::nullopt.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace dropledger::cli {

struct ChannelOfFile {
    int number = 0;   // as `channel = N` says, else in the order of the file
    std::string unit; // a table that names another unit is not this one's
};

// `value` as TOML writes it: 18000, "name".
[[nodiscard]] std::optional<std::string> with_channel_value(std::string_view text,
                                                            const ChannelOfFile& channel,
                                                            std::string_view key,
                                                            std::string_view value);
[[nodiscard]] std::optional<std::string> with_run_value(std::string_view text, std::string_view key,
                                                        std::string_view value);

} // namespace dropledger::cli
