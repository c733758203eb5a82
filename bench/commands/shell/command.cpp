#include "bench/commands/shell/command.hpp"

#include "analysis/base/text.hpp"
#include "bench/commands/shell/fields.hpp"
#include "bench/commands/shell/standard.hpp"
#include "command_manuals.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <exception>
#include <set>
#include <sstream>

namespace dropledger::cli {

namespace {

constexpr int exit_usage = 64;
constexpr int exit_bug = 70;

// CLI11 runs callbacks while parsing; the chosen action's status is carried out of there by this.
struct Finished {
    int status;
};

template <class T>
CLI::Option* bind(CLI::App& app, const std::string& name, T& target, const std::string& help) {
    return app.add_option(name, target, help)->capture_default_str();
}

int report(const Error& error) {
    tell("dropledger: {}\n", error.message());
    return exit_status(error.kind);
}

std::set<std::string> options_of(const CLI::App& app) {
    std::set<std::string> names;
    for (const CLI::Option* const option : app.get_options())
        for (const std::string& name : option->get_lnames())
            names.insert("--" + name);
    return names;
}

// Help and version go to standard output, what is wrong with the line to standard error.
int answer(const CLI::App& app, const CLI::ParseError& problem) {
    std::ostringstream out;
    std::ostringstream err;
    const bool asked = app.exit(problem, out, err) == 0;
    write_standard_error(shown_text(err.str(), Breaks::kept));
    const Status written = write_standard_output(out.str());
    if (!written)
        return report(written.error());
    return asked ? 0 : exit_usage;
}

} // namespace

Command& Command::option(const std::string& name, std::string& target, const std::string& help) {
    bind(*app_, name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::int64_t& target, const std::string& help) {
    bind(*app_, name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, double& target, const std::string& help) {
    bind(*app_, name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<std::string>& target,
                         const std::string& help) {
    app_->add_option(name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<std::int64_t>& target,
                         const std::string& help) {
    app_->add_option(name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<double>& target,
                         const std::string& help) {
    app_->add_option(name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::vector<std::string>& target,
                         const std::string& help) {
    app_->add_option(name, target, help);
    return *this;
}

Command& Command::repeated(const std::string& name, std::vector<std::string>& target,
                           const std::string& help) {
    app_->add_option(name, target, help)->allow_extra_args(false);
    return *this;
}

Command& Command::flag(const std::string& name, bool& target, const std::string& help) {
    app_->add_flag(name, target, help);
    return *this;
}

Command& Command::required(const std::string& name) {
    app_->get_option(name)->required();
    return *this;
}

Command& Command::manual(std::string_view name) {
    for (const auto& [known, text] : manuals::texts())
        if (known == name) {
            app_->footer(std::string(trim(text)));
            return *this;
        }
    throw BrokenInvariant(fmt::format("no manual is called {}", name));
}

Command Command::subcommand(const std::string& name, const std::string& summary) {
    app_->require_subcommand(1);
    return Command{*app_->add_subcommand(name, summary)};
}

Command Command::optional_subcommand(const std::string& name, const std::string& summary) {
    return Command{*app_->add_subcommand(name, summary)};
}

void Command::runs(std::function<Result<int>()> action) {
    app_->callback([action = std::move(action), app = app_] {
        const Result<int> outcome = action();
        throw Finished{outcome ? *outcome : report(in_options(outcome.error(), options_of(*app)))};
    });
}

Program::Program()
    : app_(std::make_unique<CLI::App>(
          "Dropledger: test bench driver and seed-drop audit for seeding units", "dropledger")) {
    app_->require_subcommand(1);
    app_->set_version_flag("--version", "dropledger 0.1.0");
    app_->footer(
        "Exit status: 0 done and all within, 1 at least one outside, 2 none outside but undecided\n"
        "or incomplete, 64 wrong usage, 65 input unreadable, 70 a bug of ours, 74 device or file\n"
        "trouble. `dropledger SUBCOMMAND --help` tells the rest.");
}

Program::~Program() = default;

Command Program::subcommand(const std::string& name, const std::string& summary) {
    return Command{*app_->add_subcommand(name, summary)};
}

int Program::run(int argc, char** argv) {
    prepare_standard_files();
    try {
        app_->parse(argc, argv);
    } catch (const Finished& finished) {
        return finished.status;
    } catch (const CLI::ParseError& problem) {
        return answer(*app_, problem);
    } catch (const BrokenInvariant& broken) {
        tell("dropledger: a bug of ours, please report it with this line: {}\n", broken.what());
        return exit_bug;
    } catch (const std::exception& broken) {
        tell("dropledger: a bug of ours, unexpected failure: {}\n", broken.what());
        return exit_bug;
    }
    return 0;
}

} // namespace dropledger::cli
