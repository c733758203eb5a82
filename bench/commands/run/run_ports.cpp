#include "bench/commands/run/run_ports.hpp"

#include "bench/commands/shell/deliver.hpp"
#include "bench/link/serial.hpp"
#include "bench/link/transport.hpp"
#include "bench/recorder/probe.hpp"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace dropledger::cli {

namespace {

constexpr Microseconds probe_patience{1'500'000};

struct Listed {
    link::PortDescription port;
    bool asked = false;
    std::optional<recorder::Answer> answer;
    std::string trouble; // why it could not be asked
};

void ask(Listed& listed, int baud) {
    auto opened = link::open_transport(listed.port.path, baud);
    listed.asked = true;
    if (!opened) {
        listed.trouble = opened.error().what;
        return;
    }
    recorder::SystemClock clock;
    listed.answer = recorder::probe(**opened, clock, probe_patience);
}

std::string verdict(const Listed& listed) {
    if (listed.answer)
        return fmt::format("a bench: {}, {} channels", listed.answer->firmware,
                           listed.answer->channels);
    if (!listed.trouble.empty())
        return "could not be asked: " + listed.trouble;
    if (listed.asked)
        return "no bench answered";
    switch (link::bench_likeness(listed.port)) {
    case link::Likeness::bench:
        return "calls itself a bench";
    case link::Likeness::adapter:
        return "could be a bench (--probe asks it)";
    case link::Likeness::unlikely:
        break;
    }
    return "hardly a bench";
}

bool looks_like_bench(const Listed& listed) {
    return listed.asked ? listed.answer.has_value()
                        : link::bench_likeness(listed.port) != link::Likeness::unlikely;
}

nlohmann::json as_json(const Listed& listed) {
    nlohmann::json entry{{"path", listed.port.path},
                         {"description", listed.port.description},
                         {"manufacturer", listed.port.manufacturer},
                         {"product", listed.port.product},
                         {"serial_number", listed.port.serial_number},
                         {"looks_like_bench", looks_like_bench(listed)},
                         {"asked", listed.asked},
                         {"verdict", verdict(listed)}};
    entry["firmware"] = listed.answer ? nlohmann::json(listed.answer->firmware) : nlohmann::json();
    return entry;
}

nlohmann::json as_json(const std::vector<Listed>& ports) {
    nlohmann::json list = nlohmann::json::array();
    for (const Listed& listed : ports)
        list.push_back(as_json(listed));
    return {{"schema", "dropledger/ports/1"}, {"ports", list}};
}

std::string as_text(const std::vector<Listed>& ports) {
    TextPage page;
    if (ports.empty())
        page.add("no serial ports here; plug the bench in, and check its power and cable\n");
    for (const Listed& listed : ports)
        page.add("{}  {}  {}\n", listed.port.path, listed.port.description, verdict(listed));
    return page.text();
}

} // namespace

Result<int> list_serial_ports(const RunOptions& options) {
    std::vector<Listed> ports;
    if (options.port) {
        ports.push_back(
            {.port = {.path = *options.port}, .asked = false, .answer = {}, .trouble = {}});
    } else {
        const auto found = link::list_ports();
        if (!found)
            return found.error();
        for (const link::PortDescription& port : *found)
            ports.push_back({.port = port, .asked = false, .answer = {}, .trouble = {}});
    }
    if (options.probe)
        for (Listed& listed : ports)
            ask(listed, static_cast<int>(options.baud.value_or(link::default_baud)));
    return options.json ? deliver_json(as_json(ports)) : deliver_text(as_text(ports));
}

} // namespace dropledger::cli
