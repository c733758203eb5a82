#include "bench/commands/shell/command.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <exception>

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
    fmt::print(stderr, "dropledger: {}\n", error.message());
    return exit_status(error.kind);
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

Command& Command::manual(const std::string& text) {
    app_->footer(text);
    return *this;
}

Command Command::subcommand(const std::string& name, const std::string& summary) {
    app_->require_subcommand(1);
    return Command{*app_->add_subcommand(name, summary)};
}

Command Command::optional_subcommand(const std::string& name, const std::string& summary) {
    return Command{*app_->add_subcommand(name, summary)};
}

void Command::runs(std::function<Result<int>()> action) {
    app_->callback([action = std::move(action)] {
        const Result<int> outcome = action();
        throw Finished{outcome ? *outcome : report(outcome.error())};
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
    try {
        app_->parse(argc, argv);
    } catch (const Finished& finished) {
        return finished.status;
    } catch (const CLI::ParseError& problem) {
        return app_->exit(problem) == 0 ? 0 : exit_usage;
    } catch (const BrokenInvariant& broken) {
        fmt::print(stderr, "dropledger: a bug of ours, please report it with this line: {}\n",
                   broken.what());
        return exit_bug;
    } catch (const std::exception& broken) {
        fmt::print(stderr, "dropledger: a bug of ours, unexpected failure: {}\n", broken.what());
        return exit_bug;
    }
    return 0;
}

} // namespace dropledger::cli
