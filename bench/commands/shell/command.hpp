// One subcommand's options and what it runs; the only door to the command-line library.
//
// A subcommand file offers `void add_NAME(Program&)`: it declares options bound to a struct of its
// own and hands over the function to run. Options are long words; values are checked here for their
// form (a number is a number), by the subcommand for their meaning.
#pragma once

#include "analysis/base/result.hpp"

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace CLI {
class App;
}

namespace dropledger::cli {

struct CommandPage; // page.hpp

class Command {
public:
    explicit Command(CLI::App& app) : app_(&app) {}

    // Each binds --NAME (or a positional, where the name has no dashes) to `target`, which must
    // live as long as the program; what stands in it beforehand is the default and shows in --help.
    Command& option(const std::string& name, std::string& target, const std::string& help);
    Command& option(const std::string& name, std::int64_t& target, const std::string& help);
    Command& option(const std::string& name, double& target, const std::string& help);
    Command& option(const std::string& name, std::optional<std::string>& target,
                    const std::string& help);
    Command& option(const std::string& name, std::optional<std::int64_t>& target,
                    const std::string& help);
    Command& option(const std::string& name, std::optional<double>& target,
                    const std::string& help);
    Command& option(const std::string& name, std::vector<std::string>& target,
                    const std::string& help);
    // May be given several times, one value each: what follows the value is the next argument's
    // again.
    Command& repeated(const std::string& name, std::vector<std::string>& target,
                      const std::string& help);
    Command& flag(const std::string& name, bool& target, const std::string& help);
    Command& required(const std::string& name);

    // Description of input and output, exit status and examples, printed after the options: the text
    // of NAME.manual.txt beside the command's code.
    Command& manual(std::string_view name);

    // A nested subcommand: `plan sequential`.
    [[nodiscard]] Command subcommand(const std::string& name, const std::string& summary);
    // One beside which the command still runs by itself: `calibrate gauge FILE` and `calibrate
    // gauge plan`.
    [[nodiscard]] Command optional_subcommand(const std::string& name, const std::string& summary);

    // What to do once the line is parsed: returns the exit status.
    void runs(std::function<Result<int>()> action);

private:
    CLI::App* app_;
};

// The program: parses the command line, runs the chosen subcommand, prints errors, gives the exit
// status.
class Program {
public:
    Program();
    ~Program();
    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;

    // `declare` is called where the command is asked for: no start waits for the options of all.
    void subcommand(const std::string& name, const std::string& summary,
                    std::function<void(Command)> declare);
    [[nodiscard]] int run(int argc, char** argv);

    // What --help says of the program and of each command below it.
    [[nodiscard]] CommandPage page();

private:
    void declare(const std::string& name);

    std::unique_ptr<CLI::App> app_;
    std::map<std::string, std::function<void(Command)>> undeclared_;
};

} // namespace dropledger::cli
