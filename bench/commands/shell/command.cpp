#include "bench/commands/shell/command.hpp"

#include "analysis/base/text.hpp"
#include "analysis/base/version.hpp"
#include "bench/commands/shell/fields.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/commands/shell/page.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/suggest.hpp"
#include "command_manuals.hpp"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cmath>
#include <exception>
#include <optional>
#include <set>
#include <span>
#include <sstream>

namespace dropledger::cli {

namespace {

constexpr int exit_usage = 64;
constexpr int exit_bug = 70;

// CLI11 runs callbacks while parsing; the chosen action's status is carried out of there by this.
struct Finished {
    int status;
};

// A number as typed (numbers.hpp) into one that the library reads.
CLI::Option* read_as_typed(CLI::Option* option, const std::string& name, bool whole) {
    const auto read = [name, whole](std::string& text) -> std::string {
        const auto number = typed_number(name, text);
        if (!number)
            return number.error().what + "; " + number.error().remedy;
        if (whole && parse_int(text)) // all its digits
            return {};
        if (whole && (*number != std::round(*number) || std::abs(*number) > 1e15))
            return fmt::format("`{}` is not a whole number", text);
        text = whole ? fmt::format("{:.0f}", *number) : fmt::format("{}", *number);
        return {};
    };
    return option->transform(CLI::Validator(read, ""));
}

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

using Words = std::span<const std::string>;

// The command that the words name, and the first word that is none of it.
struct Place {
    const CLI::App* app;
    std::string name;
    Words rest;
};

std::vector<std::string_view> subcommands_of(const CLI::App& app) {
    std::vector<std::string_view> names;
    for (const CLI::App* const one : app.get_subcommands([](const CLI::App*) { return true; }))
        names.push_back(one->get_name());
    return names;
}

Place place_of(const CLI::App& root, Words words) {
    Place place{&root, "dropledger", words};
    while (!place.rest.empty()) {
        const auto under = place.app->get_subcommands(
            [&](const CLI::App* one) { return one->get_name() == place.rest.front(); });
        if (under.empty())
            return place;
        place.app = under.front();
        place.name += " " + place.rest.front();
        place.rest = place.rest.subspan(1);
    }
    return place;
}

std::string with_guess(std::string fact, std::string_view word,
                       const std::vector<std::string_view>& known, const std::string& command) {
    const std::string guess = did_you_mean(word, known);
    return fmt::format("{}; {}", fact,
                       guess.empty() ? fmt::format("`{} --help` lists what there is", command)
                                     : guess);
}

// What no command or option has for a name: in words, with what was meant.
std::optional<std::string> unknown_word(const CLI::App& root, Words words) {
    const Place place = place_of(root, words);
    const auto commands = subcommands_of(*place.app);
    if (!place.rest.empty() && !commands.empty() && place.app->get_require_subcommand_min() > 0 &&
        !place.rest.front().starts_with('-'))
        return with_guess(fmt::format("no command '{}' of `{}`", place.rest.front(), place.name),
                          place.rest.front(), commands, place.name);
    const std::set<std::string> options = options_of(*place.app);
    const std::vector<std::string_view> known(options.begin(), options.end());
    for (const std::string& word : place.rest) {
        const std::string name = word.substr(0, word.find('='));
        if (name.size() > 2 && name.starts_with("--") && !options.contains(name))
            return with_guess(fmt::format("option {}: `{}` has no such option", name, place.name),
                              name, known, place.name);
    }
    return std::nullopt;
}

// Help and version go to standard output, what is wrong with the line to standard error.
int answer(const CLI::App& app, const CLI::ParseError& problem, Words words) {
    std::ostringstream out;
    std::ostringstream err;
    if (app.exit(problem, out, err) == 0) {
        const Status written = write_standard_output(out.str());
        return written ? 0 : report(written.error());
    }
    const std::string place = place_of(app, words).name;
    const std::string what = unknown_word(app, words).value_or(problem.what());
    const bool names_help = what.find("--help`") != std::string::npos;
    tell("dropledger: {}{}\n", what,
         names_help ? "" : fmt::format("; `{} --help` tells more", place));
    return exit_usage;
}

} // namespace

Command& Command::option(const std::string& name, std::string& target, const std::string& help) {
    bind(*app_, name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::int64_t& target, const std::string& help) {
    read_as_typed(bind(*app_, name, target, help), name, true);
    return *this;
}
Command& Command::option(const std::string& name, double& target, const std::string& help) {
    read_as_typed(bind(*app_, name, target, help), name, false);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<std::string>& target,
                         const std::string& help) {
    app_->add_option(name, target, help);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<std::int64_t>& target,
                         const std::string& help) {
    read_as_typed(app_->add_option(name, target, help), name, true);
    return *this;
}
Command& Command::option(const std::string& name, std::optional<double>& target,
                         const std::string& help) {
    read_as_typed(app_->add_option(name, target, help), name, false);
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
    app_->set_version_flag("--version", std::string(program_and_version()));
    app_->footer(
        "Exit status: 0 done and all within, 1 at least one outside, 2 none outside but undecided\n"
        "or incomplete, 64 wrong usage, 65 input unreadable, 70 a bug of ours, 74 device or file\n"
        "trouble. `dropledger SUBCOMMAND --help` tells the rest.");
}

Program::~Program() = default;

void Program::subcommand(const std::string& name, const std::string& summary,
                         std::function<void(Command)> declare) {
    app_->add_subcommand(name, summary);
    undeclared_[name] = std::move(declare);
}

void Program::declare(const std::string& name) {
    if (const auto found = undeclared_.extract(name))
        found.mapped()(Command{*app_->get_subcommand(name)});
}

CommandPage Program::page() {
    while (!undeclared_.empty())
        declare(std::string{undeclared_.begin()->first});
    return help_page(*app_, "dropledger");
}

int Program::run(int argc, char** argv) {
    prepare_standard_files();
    const std::vector<std::string> words(argv + (argc > 0 ? 1 : 0), argv + argc);
    try {
        for (const std::string& word : words)
            declare(word);
        app_->parse(argc, argv);
    } catch (const Finished& finished) {
        return finished.status;
    } catch (const CLI::ParseError& problem) {
        return answer(*app_, problem, words);
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
