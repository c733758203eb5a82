// A command as its --help shows it, part by part: for manuals on paper and for a shell's completion.
//
// All of it comes from what the commands declare (command.hpp), so that no second list of options is kept.
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace dropledger::cli {

struct ArgumentLine {
    std::string name;  // "--port", "-h,--help"; "FILE" of a positional
    std::string value; // "TEXT", "INT=250"; empty: a flag
    std::string help;
    bool required = false;
    bool several = false; // may be given several times, or takes several values

    [[nodiscard]] bool takes_value() const { return !value.empty(); }
    [[nodiscard]] std::string long_name() const; // "--help"; empty where it has none
};

struct CommandPage {
    std::string name; // "dropledger batch open"
    std::string summary;
    std::vector<ArgumentLine> positionals;
    std::vector<ArgumentLine> options;
    std::vector<CommandPage> below; // in their order in --help
    std::string manual;             // what stands after the options
};

[[nodiscard]] CommandPage help_page(const CLI::App& app, const std::string& name);

} // namespace dropledger::cli
