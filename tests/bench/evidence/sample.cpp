#include "sample.hpp"

#include "analysis/base/dates.hpp"
#include "analysis/base/readers/open_string.hpp"
#include "analysis/batch/chain/batch_file.hpp"
#include "bench/virtual/run_log.hpp"
#include "bench/virtual/unit/scenario.hpp"
#include "calibration/record/record.hpp"

#include <fmt/format.h>

#include <stdexcept>

namespace dropledger::evidence {

namespace {

constexpr const char* profile_text = R"(# Invented for a test: wide limits, few drops.
name = "wide"
mode = "single"
confidence = 0.95
least_drops = 20
[limits]
miss_index = 0.30
multiples_index = 0.30
)";

constexpr const char* record_text = R"(# Invented for a test.
schema = "dropledger/calibration/1"
id = "CAL-1"
date = "2026-01-02"
expires = "2026-12-31"
[holds_for]
gate = 1
[efficiency]
value = 0.999
low = 0.995
high = 1.0
confidence = 0.95
method = "invented"
)";

template <class Value> Value sure(Result<Value> result) {
    if (!result)
        throw std::runtime_error(result.error().message());
    return *std::move(result);
}

std::string hash_of(const std::string& text) {
    return droplog::to_hex(droplog::sha256(text));
}

} // namespace

std::string hex_of(const droplog::PrivateKey& key) {
    return droplog::to_hex(droplog::public_key_of(key));
}

Folder folder_of(std::shared_ptr<Files> files) {
    return {[files](const std::string& name) { return files->count(name) > 0; },
            [files](const std::string& name) { return open_string(files->at(name)); },
            [files] {
                std::vector<std::string> names;
                for (const auto& [name, text] : *files)
                    names.push_back(name);
                return names;
            }};
}

std::string log_of(const LogSpec& spec) {
    auto scenario =
        sure(bench_virtual::read_scenario(DROPLEDGER_FIXTURES "/scenarios/healthy.toml"));
    scenario.drops = 25;
    scenario.speed_um_s = 1'000'000; // short logs
    scenario.seed = spec.seed;
    scenario.channels.at(0).unit = spec.unit;
    scenario.channels.at(0).fill = spec.fill;
    std::string text;
    bench_virtual::LogSinks sinks;
    sinks.line = [&text](std::string_view line) { text += line; };
    sinks.key = spec.key;
    bench_virtual::simulate_log(scenario, sinks,
                                static_cast<std::int64_t>(parse_rfc3339(spec.started, 0).value()));
    return text;
}

Sample made(const std::function<void(Files&)>& change) {
    Sample sample;
    Files& files = *sample.files;
    batch::OpenRequest request;
    request.id = "B-1";
    request.rehearsal = true;
    request.serials = {"U-1", "U-2", "U-3", "U-4"};
    request.profile = {"wide", hash_of(profile_text), profile_text};
    request.plan = sure(batch::own_plan(4, 2, 1));
    request.choice.seed = 11;
    sample.batch = sure(batch::open_batch(request, {bench_key, "2026-01-04T08:00:00Z"}));
    files["cal.toml"] = record_text;
    for (std::size_t i = 0; i < 2; ++i)
        files[fmt::format("run{}.droplog", i)] =
            log_of({sample.batch.chosen[i], i + 1, 0.99, bench_key, started_of(i)});
    if (change)
        change(files);
    const auto profile = sure(verdict::parse_profile(profile_text, "wide.toml"));
    const auto record = sure(calibration::parse_record(files["cal.toml"], "cal.toml"));
    batch::Addition addition;
    addition.calibrations = {used(record, "cal.toml", hash_of(files["cal.toml"]))};
    for (const char* file : {"run0.droplog", "run1.droplog"}) {
        const OpenBytes open = open_string(files[file]);
        const auto evidence = sure(read_evidence(open, file));
        for (const AuditedRun& one : sure(runs_of_log(open, {file, profile, {record}}, evidence)))
            addition.runs.push_back(one.run);
    }
    sure(batch::add_runs(sample.batch, std::move(addition), {bench_key, "2026-01-06T08:00:00Z"}));
    sure(batch::decide(sample.batch, {bench_key, "2026-01-06T08:00:00Z"}));
    files["b.batch.json"] = batch::to_text(sample.batch);
    sample.certificate = sure(issue(sample.batch, sample.folder(), how_issued())).text;
    return sample;
}

IssueRequest how_issued() {
    IssueRequest how;
    how.key = bench_key;
    how.batch_file = "b.batch.json";
    how.issued = "2026-01-07T08:00:00Z";
    how.valid_until = "2031-01-06";
    return how;
}

std::string started_of(std::size_t run) {
    return fmt::format("2026-01-05T{:02}:00:00Z", 8 + run);
}

std::string forged(const Sample& sample, const std::function<void(batch::Certificate&)>& change,
                   const droplog::PrivateKey& key) {
    auto certificate = sure(batch::parse_certificate(sample.certificate, "certificate"));
    change(certificate);
    return sure(batch::to_text(sure(batch::signed_with(key, certificate))));
}

Means remembering() {
    const auto seen = std::make_shared<std::map<std::string, std::vector<AuditedRun>>>();
    const auto read = std::make_shared<std::map<std::string, LogEvidence>>();
    Means means;
    means.read = [read](const OpenBytes& open, const std::string& name) -> Result<LogEvidence> {
        const auto hash = read_text(open);
        if (!hash)
            return hash.error();
        const auto found = read->find(hash->sha256);
        if (found != read->end())
            return found->second;
        auto evidence = read_evidence(open, name);
        if (evidence && read->size() < 8)
            read->emplace(hash->sha256, *evidence);
        return evidence;
    };
    means.audit = [seen](const OpenBytes& open, const RunRequest& request,
                         const LogEvidence& evidence) -> Result<std::vector<AuditedRun>> {
        const auto found = seen->find(evidence.sha256);
        if (found != seen->end())
            return found->second;
        auto runs = runs_of_log(open, request, evidence);
        if (runs)
            seen->emplace(evidence.sha256, *runs);
        return runs;
    };
    const auto drawn = std::make_shared<std::map<std::string, batch::Certificate>>();
    means.draw = [drawn](const batch::Batch& batch,
                         const IssueFacts& facts) -> Result<batch::Certificate> {
        const std::string key = batch.journal.head() + facts.issued + facts.valid_until +
                                facts.by_program + facts.pages_sha256 + facts.batch_file;
        const auto found = drawn->find(key);
        if (found != drawn->end())
            return found->second;
        auto made = drawn_up(batch, facts);
        if (made)
            drawn->emplace(key, *made);
        return made;
    };
    return means;
}

} // namespace dropledger::evidence
