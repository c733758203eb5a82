#include "analysis/droplog/flaw.hpp"

#include "analysis/base/result.hpp"

#include <fmt/format.h>

#include <array>

namespace dropledger::droplog {

namespace {

constexpr std::array<FlawRow, 20> rows{{
    {Flaw::not_closed, "not_closed", true, false, false, "it does not end with @close", ""},
    {Flaw::torn_tail, "torn_tail", true, false, false, "its last line is torn off", ""},
    {Flaw::sequence_gap, "sequence_gap", true, true, false, "line is missing", "lines are missing"},
    {Flaw::lines_lost, "lines_lost", true, true, false, "line was thrown away by the controller",
     "lines were thrown away by the controller"},
    {Flaw::out_of_order, "out_of_order", true, true, false, "line is out of order",
     "lines are out of order"},
    {Flaw::conflicting, "conflicting", false, true, false, "line contradicts an earlier one",
     "lines contradict an earlier one"},
    {Flaw::no_hello, "no_hello", true, true, true, "the controller's `hello` is missing", ""},
    {Flaw::no_started, "no_started", true, true, true, "the controller's `started` is missing", ""},
    {Flaw::several_starts, "several_starts", true, true, false,
     "the run was started once more without a confirmation of its own, or before it had halted",
     "times the run was started once more without a confirmation of its own, or before it had "
     "halted"},
    {Flaw::drop_while_halted, "drop_while_halted", true, true, false,
     "drop was commanded behind `halted`, when nothing may move",
     "drops were commanded behind `halted`, when nothing may move"},
    {Flaw::reset_in_run, "reset_in_run", true, true, true,
     "the controller was reset in mid-run, so what it had not handed over is lost",
     "times the controller was reset in mid-run, so what it had not handed over is lost"},
    {Flaw::index_gap, "index_gap", true, true, false, "commanded drop is missing",
     "commanded drops are missing"},
    {Flaw::index_repeated, "index_repeated", true, true, false,
     "commanded drop is there more than once", "commanded drops are there more than once"},
    {Flaw::no_order, "no_order", true, false, false,
     "the order (`arm`) is missing, so nobody can tell whether all of it was carried out", ""},
    {Flaw::count_not_agreed, "count_not_agreed", true, true, false,
     "commanded drop differs from the order, though the log is closed as carried out",
     "commanded drops differ from the order, though the log is closed as carried out"},
    {Flaw::no_halted, "no_halted", true, true, true,
     "the controller's `halted` is missing, though the log is closed as carried out", ""},
    {Flaw::seal_broken, "seal_broken", false, true, false, "the seal chain is broken", ""},
    {Flaw::no_seals, "no_seals", false, false, false, "it has no seals", ""},
    {Flaw::ending_differs, "ending_differs", false, true, false,
     "the reason under the last seal (`@ending`) is not that of @close", ""},
    {Flaw::bad_signature, "bad_signature", false, true, false, "its signature does not fit", ""},
}};

} // namespace

const FlawRow& row_of(Flaw flaw) {
    for (const FlawRow& row : rows)
        if (row.flaw == flaw)
            return row;
    throw BrokenInvariant("a flaw without words");
}

std::string in_words(const FoundFlaw& found) {
    const FlawRow& row = row_of(found.flaw);
    const std::string place = found.line == 0 ? "" : fmt::format(" (line {})", found.line);
    if (row.many.empty() || (found.count == 1 && row.one.starts_with("the ")))
        return fmt::format("{}{}", row.one, place);
    return fmt::format("{} {}{}", found.count, found.count == 1 ? row.one : row.many, place);
}

} // namespace dropledger::droplog
