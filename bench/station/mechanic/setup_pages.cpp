// A machine's settings, asked for on a page, and tried on the bench.
#include "bench/station/mechanic/ready.hpp"

#include "analysis/report/pictures/markup.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/setup/machine_file.hpp"
#include "bench/commands/setup/questions.hpp"
#include "bench/commands/shell/numbers.hpp"
#include "bench/station/pages/fields.hpp"
#include "bench/station/pages/files.hpp"
#include "bench/station/pages/page.hpp"
#include "calibration_crops.hpp"

#include <cmath>
#include <filesystem>

namespace dropledger::station {

using report::pictures::element;

namespace {

std::string typed(const Request& request, std::string_view name, std::string_view usual = {}) {
    return request.form.value(name).value_or(std::string(usual));
}

std::vector<Option> crop_options() {
    std::vector<Option> options{{"", "not said"}};
    for (const auto& text : crops::texts()) {
        std::string name(text.name);
        for (char& c : name)
            c = c == '-' ? ' ' : c;
        options.push_back({name, name});
    }
    return options;
}

std::vector<Option> profile_options() {
    std::vector<Option> options{{"", "general"}};
    for (const std::string& name : cli::profile_names())
        options.push_back({name, name});
    return options;
}

std::string gate_fields(const Request& request, const char* place, const char* height,
                        const char* label) {
    const std::string place_name(place);
    return select_field({.name = place,
                         .label = label,
                         .value = typed(request, place_name),
                         .options = {{"", "nobody knows"},
                                     {"above", "above the valve: it counts only"},
                                     {"below", "below the valve: it sees where seed falls"},
                                     {"none", "there is none"}}}) +
           text_field({.name = height,
                       .label = "Its height over the ground",
                       .help = "Below the valve only; mm, or as 5 cm",
                       .value = typed(request, height)});
}

// Fields with what was typed before, side by side.
class Typed {
public:
    explicit Typed(const Request& request) : request_(request) {}
    [[nodiscard]] std::string text(std::string_view name, std::string_view label,
                                   std::string_view help, std::string_view usual = {},
                                   bool needed = false) const {
        return text_field({name, label, help, typed(request_, name, usual), needed});
    }
    [[nodiscard]] std::string choice(std::string_view name, std::string_view label,
                                     std::string_view help, std::vector<Option> options) const {
        return select_field({name, label, help, typed(request_, name), std::move(options)});
    }

private:
    const Request& request_;
};

std::string beside(const std::string& fields) {
    return element("div", "class=\"row2\"", fields);
}

std::string machine_fields(const Typed& typed) {
    return beside(
        typed.text("name", "Name of the machine", "of its file: letters, digits, - and _", "",
                   true) +
        typed.text("units", "Units",
                   "serial numbers in the order of the bench's channels: SU-0201..SU-0206", "",
                   true) +
        typed.text("rows", "Rows", "1..6, or 1,3,5; left out: counted from 1"));
}

std::string drop_fields(const Typed& typed) {
    return beside(
        typed.choice("mode", "What does a drop hold?", "",
                     {{"single", "one seed"},
                      {"portion", "a counted portion"},
                      {"line", "an even line of seed, no drops"}}) +
        typed.text("spacing-mm", "Distance from drop to drop", "mm, or as 18 cm; not for a line") +
        typed.text("count", "Seeds in a portion", "portions only") +
        typed.text("rate-per-m", "Seeds per metre", "lines only") +
        typed.text("speed-mps", "Travel speed", "m/s, or as 1,8 km/h", "", true) +
        typed.text("drops", "Drops a unit in a run", "500 tells most; seeds of a line", "500"));
}

std::string limit_fields(const Typed& typed) {
    return beside(typed.choice("crop", "Crop",
                               "how its seed falls follows from it; else as any seed falls",
                               crop_options()) +
                  typed.choice("profile", "Limits",
                               "a profile gives each with its reason; general: that of the mode",
                               profile_options()) +
                  typed.text("cells", "Cells of the metering disc", "may be left out") +
                  typed.text("lead-us", "Valve lead set in the controller",
                             "us, or as 18 ms; may be left out"));
}

std::string setup_form(const Request& request) {
    const Typed typed(request);
    return machine_fields(typed) + drop_fields(typed) + limit_fields(typed) +
           heading2("Gates and heights") +
           beside(gate_fields(request, "gate0-place", "gate0-height-mm",
                              "The units' own drop sensor (gate 0)")) +
           beside(gate_fields(request, "gate1-place", "gate1-height-mm",
                              "The bench's reference gate (gate 1)")) +
           beside(typed.text(
               "valve-height-mm", "Where seed begins to fall",
               "height over the ground of the valve, or of the tube's end; mm, or as 40 cm"));
}

class FromForm {
public:
    explicit FromForm(const Fields& form) : form_(form) {}

    void text(const char* name, std::optional<std::string>& target) const {
        target = form_.filled(name);
    }
    void number(const char* name, std::optional<double>& target) {
        const auto given = form_.filled(name);
        if (!given || wrong)
            return;
        const auto number = cli::typed_number(std::string("--") + name, *given);
        if (number)
            target = *number;
        else
            wrong = usage_error(std::string("option --") + name, number.error().what,
                                number.error().remedy);
    }
    void whole(const char* name, std::optional<std::int64_t>& target) {
        std::optional<double> value;
        number(name, value);
        if (value)
            target = std::llround(*value);
    }
    std::optional<Error> wrong;

private:
    const Fields& form_;
};

Result<cli::Machine> machine_of(const Fields& form) {
    cli::Machine machine;
    FromForm from(form);
    from.text("units", machine.units);
    from.text("rows", machine.rows);
    from.text("mode", machine.run.mode);
    from.number("spacing-mm", machine.run.spacing_mm);
    from.whole("count", machine.run.count);
    from.number("rate-per-m", machine.run.rate_per_m);
    from.number("speed-mps", machine.run.speed_mps);
    from.whole("drops", machine.run.drops);
    from.text("crop", machine.run.crop);
    from.text("profile", machine.run.profile);
    from.whole("cells", machine.cells);
    from.whole("lead-us", machine.lead_us);
    from.text("gate0-place", machine.gates[0].place);
    from.number("gate0-height-mm", machine.gates[0].height_mm);
    from.text("gate1-place", machine.gates[1].place);
    from.number("gate1-height-mm", machine.gates[1].height_mm);
    from.number("valve-height-mm", machine.valve_height_mm);
    if (from.wrong)
        return *from.wrong;
    if (const Status asked = cli::ask_for_the_rest({}, machine); !asked)
        return asked.error();
    return machine;
}

} // namespace

Response Mechanic::setup_page(const Request& request, const std::string& trouble) {
    return {.body = page({.title = "Set up a machine",
                          .here = "/bench",
                          .body = heading1("Set up a machine") + trouble +
                                  form({.action = "/setup",
                                        .fields = setup_form(request),
                                        .button = "Write its settings"}),
                          .bar = work_.bar()})};
}

Response Mechanic::set_up(const Request& request) {
    const auto failed = [&](const Error& error) { return setup_page(request, said_wrong(error)); };
    const auto file =
        made_up_file_in(place_.folder, request.form.filled("name").value_or(""), ".toml");
    if (!file)
        return failed(file.error());
    if (std::filesystem::exists(*file))
        return failed(
            usage_error("name", "a machine of this name is there already, and is not written over",
                        "give another name"));
    auto machine = machine_of(request.form);
    if (!machine)
        return failed(machine.error());
    machine->file = *file;
    if (const Status fits = cli::check_options(*machine); !fits)
        return failed(fits.error());
    const auto back = cli::written(*machine, {});
    if (!back)
        return failed(back.error());
    remember_made(*machine);
    return see("/machine/" + encoded(std::filesystem::path(*file).filename().string()));
}

} // namespace dropledger::station
