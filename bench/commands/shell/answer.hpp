// The course of a command that works one thing out: check the outputs, find, keep, show.
//
// Its options derive from `Shown`. What it finds leaves as words or, with --json, as one JSON object;
// where it has --html also as a page.
#pragma once

#include "bench/commands/shell/command.hpp"
#include "bench/commands/shell/deliver.hpp"

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace dropledger::cli {

struct Shown {
    bool json = false;
    std::optional<std::string> html; // page to write; only of a command that declares --html
};

template <class Options, class Found> struct Answer {
    std::function<Result<Found>(const Options&)> find;
    std::function<nlohmann::ordered_json(const Found&)> json;
    std::function<std::string(const Found&)> text;
    std::function<std::string(const Found&)> page = {};                  // for --html
    std::function<int(const Found&)> status = {};                        // 0 without it
    std::function<Status(const Options&, const Found&)> keep = {};       // before it is shown
    std::function<std::vector<std::string>(const Options&)> inputs = {}; // not written over
};

template <class Options, class Found>
[[nodiscard]] Result<int> answered(const Options& options, const Answer<Options, Found>& answer) {
    Outputs outputs;
    if (answer.inputs)
        outputs.reads(answer.inputs(options));
    outputs.writes("--html", options.html, files::FileKind::html);
    if (const Status allowed = outputs.check(); !allowed)
        return allowed.error();
    const auto found = answer.find(options);
    if (!found)
        return found.error();
    if (answer.keep)
        if (const Status kept = answer.keep(options, *found); !kept)
            return kept.error();
    if (options.html)
        outputs.put("--html", answer.page(*found));
    if (options.json)
        outputs.json(answer.json(*found));
    else
        outputs.text(answer.text(*found));
    return outputs.deliver(answer.status ? answer.status(*found) : 0);
}

// Declares --json too; the last word on a command's options.
template <class Options, class Found>
void answers(Command& command, const std::shared_ptr<Options>& options,
             Answer<Options, Found> answer) {
    command.flag("--json", options->json, "print one JSON object and nothing else");
    command.runs([options, answer = std::move(answer)] { return answered(*options, answer); });
}

} // namespace dropledger::cli
