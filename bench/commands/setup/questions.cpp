#include "bench/commands/setup/questions.hpp"

#include "analysis/base/text.hpp"
#include "analysis/droplog/settings.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/commands/shell/standard.hpp"
#include "bench/commands/shell/usage.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>

namespace dropledger::cli {

namespace {

// What is wrong with an answer, in words.
using Check = std::function<Status(const std::string&)>;

struct Question {
    const char* option; // that answers it beforehand
    std::string prompt;
    std::string usual; // taken for an empty answer
    bool needed = false;
};

class Asking {
public:
    explicit Asking(const Ask& ask) : ask_(ask) {}

    [[nodiscard]] Status text(const Question& question, std::optional<std::string>& target,
                              const Check& check = {}) const {
        if (target)
            return Done{};
        auto answer = answered(question, check);
        if (!answer)
            return answer.error();
        if (!answer->empty())
            target = *std::move(answer);
        return Done{};
    }

    [[nodiscard]] Status number(const Question& question, std::optional<double>& target) const {
        const auto is_number = [&](const std::string& text) -> Status {
            const auto number = typed_number(question.option, text);
            return number ? Status{Done{}} : Status{number.error()};
        };
        std::optional<std::string> typed;
        if (target)
            return Done{};
        if (const Status asked = text(question, typed, is_number); !asked)
            return asked;
        if (typed)
            target = *typed_number(question.option, *typed);
        return Done{};
    }

    [[nodiscard]] Status whole(const Question& question,
                               std::optional<std::int64_t>& target) const {
        std::optional<double> typed;
        if (target)
            return Done{};
        if (const Status asked = number(question, typed); !asked)
            return asked;
        if (typed)
            target = std::llround(*typed);
        return Done{};
    }

private:
    [[nodiscard]] static std::string prompt_of(const Question& question) {
        return question.usual.empty() ? question.prompt + ": "
                                      : fmt::format("{} [{}]: ", question.prompt, question.usual);
    }

    [[nodiscard]] static Status may_be(const std::string& answer, const Question& question,
                                       const Check& check) {
        if (answer.empty())
            return question.needed ? Status{usage(question.option, "is needed")} : Status{Done{}};
        return check ? check(answer) : Status{Done{}};
    }

    [[nodiscard]] Result<std::string> answered(const Question& question, const Check& check) const {
        constexpr int most_times = 3;
        if (!ask_ && question.needed && question.usual.empty())
            return usage(question.option, "missing", "give it, or answer at a terminal");
        if (!ask_)
            return question.usual;
        const std::string prompt = prompt_of(question);
        for (int times = 0; times < most_times; ++times) {
            const auto line = ask_(prompt);
            if (!line)
                break;
            const std::string answer{trim(*line)};
            const std::string& taken = answer.empty() ? question.usual : answer;
            const Status fits = may_be(taken, question, check);
            if (fits)
                return taken;
            tell("  {}; {}\n", fits.error().what, fits.error().remedy);
        }
        return usage(question.option, "no answer", "give it as an option");
    }

    const Ask& ask_;
};

Check one_of(std::vector<std::string> words) {
    return [words = std::move(words)](const std::string& answer) -> Status {
        for (const std::string& word : words)
            if (word == answer)
                return Done{};
        return usage("", fmt::format("`{}` is none of them", answer),
                     fmt::format("{}", fmt::join(words, ", ")));
    };
}

template <class Names> std::vector<std::string> keys_of(const Names& names) {
    std::vector<std::string> keys;
    keys.reserve(names.size());
    for (const auto& row : names)
        keys.emplace_back(row.key);
    return keys;
}

std::vector<std::string> place_words() {
    auto words = keys_of(droplog::gate_place_names);
    words.emplace_back(GateOfMachine::there_is_none);
    return words;
}

bool is_in(droplog::Mode mode, const Machine& machine) {
    return machine.run.mode && droplog::mode_of(*machine.run.mode) == mode;
}

Status is_profile(const std::string& name) {
    const auto found = find_profile(name);
    return found ? Status{Done{}} : Status{found.error()};
}

using Step = Status (*)(const Asking&, Machine&);

Status ask_units(const Asking& asking, Machine& machine) {
    return asking.text({"--units",
                        "Serial numbers of the units, in the order of the bench's channels "
                        "(SU-0201..SU-0206)",
                        "", true},
                       machine.units);
}

Status ask_mode(const Asking& asking, Machine& machine) {
    return asking.text({"--mode", "single, portion or line", "single", true}, machine.run.mode,
                       one_of(keys_of(droplog::mode_names)));
}

Status ask_spacing(const Asking& asking, Machine& machine) {
    if (is_in(droplog::Mode::line, machine))
        return asking.number({"--rate-per-m", "Seeds per metre", "", true}, machine.run.rate_per_m);
    if (const Status asked = asking.number(
            {"--spacing-mm", "Distance from drop to drop (mm; 18 cm is understood)", "", true},
            machine.run.spacing_mm);
        !asked)
        return asked;
    if (!is_in(droplog::Mode::portion, machine))
        return Done{};
    return asking.whole({"--count", "Seeds in a portion", "", true}, machine.run.count);
}

Status ask_speed(const Asking& asking, Machine& machine) {
    return asking.number({"--speed-mps", "Travel speed (m/s; 0,9 km/h is understood)", "", true},
                         machine.run.speed_mps);
}

Status ask_crop(const Asking& asking, Machine& machine) {
    return asking.text({"--crop", "Crop (its seed's fall follows from it; may be left out)", ""},
                       machine.run.crop);
}

Status ask_drops(const Asking& asking, Machine& machine) {
    return asking.whole({"--drops", "Drops a unit in a run", "500", true}, machine.run.drops);
}

Status ask_profile(const Asking& asking, Machine& machine) {
    return asking.text({"--profile",
                        fmt::format("Tolerance profile ({})", fmt::join(profile_names(), ", ")),
                        machine.run.mode.value_or("single"), true},
                       machine.run.profile, is_profile);
}

Status ask_book(const Asking& asking, Machine& machine) {
    return asking.text({"--book", "Bench book to enter runs in (may be left out)", ""},
                       machine.run.book);
}

Status ask_gate(const Asking& asking, std::size_t number, Machine& machine) {
    const std::string option = fmt::format("--gate{}-place", number);
    const std::string height = fmt::format("--gate{}-height-mm", number);
    GateOfMachine& gate = machine.gates.at(number);
    if (gate.height_mm && !gate.place)
        gate.place = std::string(droplog::name_of(droplog::GatePlace::below));
    if (const Status asked = asking.text(
            {option.c_str(),
             number == 0 ? "The units' own drop sensor (gate 0): above or below the valve, or none"
                         : "The bench's reference gate (gate 1): above or below the valve, or none",
             ""},
            gate.place, one_of(place_words()));
        !asked)
        return asked;
    if (!gate.is_below())
        return Done{};
    return asking.number({height.c_str(), "  its height over the ground (mm)", ""}, gate.height_mm);
}

Status ask_gates(const Asking& asking, Machine& machine) {
    for (std::size_t gate = 0; gate < machine.gates.size(); ++gate)
        if (const Status asked = ask_gate(asking, gate, machine); !asked)
            return asked;
    const bool falls = machine.gates[0].height_mm || machine.gates[1].height_mm;
    if (!falls)
        return Done{};
    return asking.number({"--valve-height-mm",
                          "Height over the ground at which the seed begins to fall: the valve, or "
                          "the end of the tube (mm)",
                          ""},
                         machine.valve_height_mm);
}

Status ask_lead(const Asking& asking, Machine& machine) {
    return asking.whole(
        {"--lead-us", "Valve lead set in the controller (us; 18 ms is understood; may be left out)",
         ""},
        machine.lead_us);
}

Status ask_port(const Asking& asking, Machine& machine) {
    if (machine.no_check)
        return Done{};
    return asking.text({"--port",
                        "Port of the bench, to try the settings on it (may be left out: dropledger "
                        "run --list-ports shows them)",
                        ""},
                       machine.run.port);
}

} // namespace

Status ask_for_the_rest(const Ask& ask, Machine& machine) {
    constexpr std::array<Step, 11> steps{ask_units, ask_mode,  ask_spacing, ask_speed,
                                         ask_crop,  ask_drops, ask_profile, ask_book,
                                         ask_gates, ask_lead,  ask_port};
    const Asking asking(ask);
    for (const Step step : steps)
        if (const Status asked = step(asking, machine); !asked)
            return asked;
    return Done{};
}

} // namespace dropledger::cli
