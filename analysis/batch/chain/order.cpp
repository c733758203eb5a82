#include "analysis/batch/chain/order.hpp"

#include "analysis/base/dates.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace dropledger::batch {

namespace {

struct Span {
    const TestedRun* run = nullptr;
    double from = 0.0;
    double to = 0.0;
};

// One a log, though it has a run a channel.
std::vector<const TestedRun*> logs_of(std::span<const TestedRun> runs) {
    std::set<std::string> seen;
    std::vector<const TestedRun*> logs;
    for (const TestedRun& run : runs)
        if (seen.insert(run.file).second)
            logs.push_back(&run);
    return logs;
}

class Order {
public:
    explicit Order(const Batch& batch) : batch_(batch), logs_(logs_of(batch.runs)) {}

    [[nodiscard]] std::vector<Violation> check();

private:
    void say(const char* code, const TestedRun& run, std::string what, std::string remedy) {
        found_.push_back({code, run.file, std::move(what), std::move(remedy)});
    }
    void check_kind(const TestedRun& run);
    void check_times(const TestedRun& run, double chosen, double now);
    void check_overlap(std::vector<Span> spans);
    void check_overlaps();
    void check_boots();
    void check_streams();
    void check_numbers();
    void check_neighbours(const TestedRun& before, const TestedRun& after);

    const Batch& batch_;
    std::vector<const TestedRun*> logs_;
    std::vector<Span> spans_;
    std::vector<Violation> found_;
};

void Order::check_kind(const TestedRun& run) {
    if (run.simulated && !batch_.rehearsal)
        say("run_simulated", run, "it was simulated: no seed fell",
            "test the units on a bench; a batch opened as a rehearsal takes simulated runs");
    if (run.signed_by.empty())
        say("log_unsigned", run, "it is not signed", "record it with the bench's key");
}

void Order::check_times(const TestedRun& run, double chosen, double now) {
    const auto from = parse_rfc3339(run.started, 0);
    const auto to = parse_rfc3339(run.ended, 0);
    if (!from || !to)
        return say("run_times_unknown", run,
                   fmt::format("it does not say when it began and ended ('{}', '{}')", run.started,
                               run.ended),
                   "take the log as the driver wrote it");
    spans_.push_back({&run, *from, *to});
    if (*to < *from)
        say("run_ends_before_start", run,
            fmt::format("it began at {} and ended at {}", run.started, run.ended),
            "the clock went back during the run: set it right and run again");
    if (*from < chosen)
        say("run_before_choice", run,
            fmt::format("it began at {}, before the units were chosen at {}: a choice made after "
                        "the tests proves nothing",
                        run.started, batch_.chosen_at),
            "test the unit again now");
    if (*to > now)
        say("run_in_future", run,
            fmt::format("it ended at {}, after {}, when it was added", run.ended,
                        batch_.journal.last_at()),
            "set the clocks of bench and office right");
}

void Order::check_overlap(std::vector<Span> spans) {
    std::sort(spans.begin(), spans.end(),
              [](const Span& a, const Span& b) { return a.from < b.from; });
    for (std::size_t i = 1; i < spans.size(); ++i)
        if (spans[i].from < spans[i - 1].to) {
            say("runs_overlap", *spans[i].run,
                fmt::format("it began at {}, while run {} ({}) went on to {} on the same bench",
                            spans[i].run->started, spans[i - 1].run->run, spans[i - 1].run->file,
                            spans[i - 1].run->ended),
                "one bench makes one run at a time");
            spans[i].to = std::max(spans[i].to, spans[i - 1].to);
        }
}

void Order::check_overlaps() {
    std::map<std::string, std::vector<Span>> of_key;
    std::map<std::string, std::vector<Span>> of_bench;
    for (const Span& span : spans_) {
        of_key[span.run->signed_by].push_back(span);
        if (!span.run->conditions.bench.empty())
            of_bench[span.run->conditions.bench].push_back(span);
    }
    for (auto& [key, spans] : of_key)
        check_overlap(std::move(spans));
    if (!found_.empty())
        return;
    for (auto& [bench, spans] : of_bench)
        check_overlap(std::move(spans));
}

void Order::check_boots() {
    std::map<std::string, std::vector<std::pair<BootSpan, const TestedRun*>>> of_boot;
    for (const TestedRun* run : logs_)
        for (const BootSpan& span : run->boots)
            of_boot[span.boot].emplace_back(span, run);
    for (auto& [boot, spans] : of_boot) {
        std::sort(spans.begin(), spans.end(), [](const auto& a, const auto& b) {
            return a.first.first_seq < b.first.first_seq;
        });
        for (std::size_t i = 1; i < spans.size(); ++i)
            if (spans[i].first.first_seq <= spans[i - 1].first.last_seq)
                say("same_boot", *spans[i].second,
                    fmt::format("it has lines of boot {} that {} has too", boot,
                                spans[i - 1].second->file),
                    "a controller writes a line once: take the logs as the driver wrote them");
    }
}

void Order::check_streams() {
    std::map<std::string, const TestedRun*> seen;
    for (const TestedRun& run : batch_.runs) {
        if (run.stream.empty())
            continue;
        const auto [at, fresh] = seen.emplace(run.stream, &run);
        if (!fresh)
            say("same_stream", run,
                fmt::format("unit {} has the very pulses that unit {} has in {}", run.unit,
                            at->second->unit, at->second->file),
                "no two runs are alike to the microsecond: test the unit");
    }
}

void Order::check_neighbours(const TestedRun& before, const TestedRun& after) {
    if (*before.run_number == *after.run_number)
        return say("same_number", after,
                   fmt::format("it has number {} of its bench's counter, as {} has",
                               *after.run_number, before.file),
                   "take the logs as the driver wrote them");
    if (parse_rfc3339(after.started, 0) < parse_rfc3339(before.started, 0))
        say("number_order", after,
            fmt::format("by its number, {}, it comes after {}, by its time before it",
                        *after.run_number, before.file),
            "set the bench's clock right and run again");
    if (*after.run_number == *before.run_number + 1 && after.previous_seal != before.last_seal)
        say("seal_order", after,
            fmt::format("the last seal of the run before it is not that of {}", before.file),
            "take the logs as the driver wrote them");
}

void Order::check_numbers() {
    std::map<std::string, std::vector<const TestedRun*>> of_key;
    for (const TestedRun* run : logs_)
        if (run->run_number)
            of_key[run->signed_by].push_back(run);
    for (auto& [key, runs] : of_key) {
        std::sort(runs.begin(), runs.end(), [](const TestedRun* a, const TestedRun* b) {
            return *a->run_number < *b->run_number;
        });
        for (std::size_t i = 1; i < runs.size(); ++i)
            check_neighbours(*runs[i - 1], *runs[i]);
    }
}

std::vector<Violation> Order::check() {
    const double chosen = parse_rfc3339(batch_.chosen_at, 0).value_or(0.0);
    const double now = parse_rfc3339(batch_.journal.last_at(), 0).value_or(0.0);
    for (const TestedRun* run : logs_) {
        check_kind(*run);
        check_times(*run, chosen, now);
    }
    check_overlaps();
    check_boots();
    check_streams();
    check_numbers();
    return std::move(found_);
}

} // namespace

std::vector<Violation> violations(const Batch& batch) {
    return Order(batch).check();
}

std::vector<MissingRuns> missing_runs(std::span<const TestedRun> runs) {
    std::map<std::string, std::set<std::int64_t>> of_key;
    for (const TestedRun& run : runs)
        if (run.run_number)
            of_key[run.signed_by].insert(*run.run_number);
    std::vector<MissingRuns> missing;
    for (const auto& [key, numbers] : of_key) {
        std::int64_t next = *numbers.begin();
        for (const std::int64_t number : numbers) {
            if (number > next)
                missing.push_back({key, next, number - 1});
            next = number + 1;
        }
    }
    return missing;
}

} // namespace dropledger::batch
