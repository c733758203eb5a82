#include "bench/commands/batch/files/batch_files.hpp"
#include "bench/commands/batch/files/batch_state.hpp"
#include "bench/commands/batch/opening/batch_choose.hpp"
#include "bench/commands/batch/opening/batch_history.hpp"
#include "bench/commands/batch/opening/batch_plan.hpp"
#include "bench/commands/batch/opening/opening.hpp"
#include "bench/commands/batch/opening/resubmission.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/inputs/serials.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/base/text.hpp"
#include "analysis/batch/chain/choice.hpp"
#include "analysis/droplog/seal.hpp"
#include "bench/evidence/certificate/known_profile.hpp"
#include "bench/io/write_aside.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <filesystem>
#include <memory>
#include <random>

namespace dropledger::cli {

namespace fs = std::filesystem;

namespace {

constexpr std::string_view ending = ".batch.json";

struct Options {
    std::string file;
    std::optional<std::string> id;
    std::vector<std::string> serials;
    std::optional<std::string> serials_file;
    std::string profile;
    PlanOptions plan;
    HistoryOptions history;
    std::optional<std::string> seed;
    bool for_buyer = false;
    bool rehearsal = false;
    std::optional<std::string> resubmits;
    std::optional<std::int64_t> pooled_runs;
    Signing signing;
    bool json = false;
};

Status check_options(const Options& options) {
    if (!options.file.ends_with(ending) || fs::path(options.file).filename() == ending)
        return usage("FILE", fmt::format("'{}' does not end in {}", options.file, ending),
                     "batch files are found by that ending: name it NAME.batch.json");
    if (fs::exists(options.file))
        return usage("FILE", fmt::format("{} is there already", options.file),
                     "name another, a batch is opened once");
    if (const Status plan = check_plan_options(options.plan); !plan)
        return plan;
    if (options.history.severity && (!options.history.files.empty() || options.history.book))
        return usage("--severity", "--severity beside --history or --book",
                     "one of them chooses the severity");
    if (options.serials.empty() != options.serials_file.has_value())
        return usage("--serials", "the serials of all units are needed, once",
                     "give --serials SU-0001..SU-0280 (several times for several ranges), or "
                     "--serials-file");
    if (options.seed && parse_int(*options.seed).value_or(-1) < 0)
        return usage("--seed", fmt::format("'{}' is no seed", *options.seed),
                     "give a whole number from 0 to 9223372036854775807");
    if (options.seed && options.for_buyer)
        return usage("--seed", "with a buyer's part nobody types the seed",
                     "leave --seed or --for-buyer out");
    return Done{};
}

Result<std::vector<std::string>> serials_of(const Options& options) {
    if (options.serials_file)
        return serials_in(*options.serials_file);
    std::vector<std::string> all;
    for (const std::string& range : options.serials) {
        const auto some = serials_of_range("--serials", range);
        if (!some)
            return some.error();
        all.insert(all.end(), some->begin(), some->end());
    }
    return all;
}

Result<batch::BatchProfile> profile_of(const std::string& name_or_file) {
    batch::BatchProfile profile;
    if (const auto known = evidence::known_profile(name_or_file)) {
        profile.name = name_or_file;
        profile.text = *known;
    } else if (name_or_file.ends_with(".toml")) {
        auto text = read_file(name_or_file);
        if (!text)
            return text.error();
        profile.name = fs::path(name_or_file).stem().string();
        profile.text = std::move(text->text);
    } else {
        return usage(
            "--profile", fmt::format("no profile is called '{}'", name_or_file),
            fmt::format("give a file NAME.toml or one of: {}", fmt::join(profile_names(), ", ")));
    }
    profile.sha256 = droplog::to_hex(droplog::sha256(profile.text));
    if (const auto parsed = verdict::parse_profile(profile.text, name_or_file); !parsed)
        return parsed.error();
    return profile;
}

// Plan, and the history that it rests on.
Status take_plan(const Options& options, batch::OpenRequest& request) {
    const auto profile = verdict::parse_profile(request.profile.text, request.profile.name);
    if (!profile)
        return profile.error();
    PlanRequest wanted;
    wanted.lot = options.plan.lot.value_or(static_cast<std::int64_t>(request.serials.size()));
    wanted.profile = &*profile;
    if (options.plan.aql) {
        auto history = severity_of(options.history, request.profile.name);
        if (!history)
            return history.error();
        request.history = std::move(history->batches);
        wanted.severity = history->severity.severity;
        wanted.severity_reason = history->severity.reason;
    }
    auto plan = plan_of(options.plan, wanted);
    if (!plan)
        return plan.error();
    request.plan = *std::move(plan);
    return Done{};
}

std::uint64_t drawn_seed() {
    std::random_device source;
    return (std::uint64_t{source()} << 32U | source()) >> 1U; // can be given back with --seed
}

constexpr std::size_t part_bytes = 32;

std::string drawn_part() {
    std::random_device source;
    std::string bytes;
    while (bytes.size() < part_bytes)
        bytes += static_cast<char>(source() & 0xFFU);
    return droplog::to_hex(bytes);
}

// With a buyer: the bench's part, which is kept beside the batch until the buyer has spoken.
std::string take_choice(const Options& options, batch::OpenRequest& request) {
    if (options.for_buyer) {
        std::string part = drawn_part();
        request.choice.origin = batch::SeedOrigin::with_buyer;
        request.choice.commitment = batch::commitment_to(part);
        return part;
    }
    request.choice.origin = options.seed ? batch::SeedOrigin::typed : batch::SeedOrigin::drawn;
    request.choice.seed = options.seed ? parse_uint(*options.seed) : drawn_seed();
    return "";
}

Result<batch::OpenRequest> request_of(const Options& options) {
    batch::OpenRequest request;
    request.rehearsal = options.rehearsal;
    request.pooled_runs = options.pooled_runs;
    auto serials = serials_of(options);
    if (!serials)
        return serials.error();
    request.serials = *std::move(serials);
    auto profile = profile_of(options.profile);
    if (!profile)
        return profile.error();
    request.profile = *std::move(profile);
    if (const Status planned = take_plan(options, request); !planned)
        return planned.error();
    const std::string name = fs::path(options.file).filename().string();
    request.id = options.id.value_or(name.substr(0, name.size() - ending.size()));
    auto resubmitted = resubmission(options.file, options.resubmits, request.serials);
    if (!resubmitted)
        return resubmitted.error();
    request.resubmitted = *std::move(resubmitted);
    return request;
}

Result<int> open(const Options& options) {
    if (const Status checked = check_options(options); !checked)
        return checked.error();
    const auto signer = signer_of(options.signing, options.rehearsal);
    if (!signer)
        return signer.error();
    auto request = request_of(options);
    if (!request)
        return request.error();
    const std::string part = take_choice(options, *request);
    auto opened = batch::open_batch(*std::move(request), *signer);
    if (!opened)
        return opened.error();
    if (!part.empty())
        if (const Status kept = files::write_new_file(options.file + part_ending, part); !kept)
            return kept.error();
    if (const Status saved = save_new_batch(options.file, *opened); !saved)
        return saved.error();
    return deliver_state(*std::move(opened), {.units = true, .json = options.json});
}

void add_history_options(Command& command, HistoryOptions& options) {
    command
        .option("--severity", options.severity,
                "normal, tightened or reduced; normal where not said")
        .option("--book", options.book,
                "bench book: its batches of the same profile are the history; with --history those "
                "that must not be left out")
        .repeated("--history", options.files,
                  "an earlier batch file, in their order, each with --history: the switching rules "
                  "choose the severity")
        .flag("--reduced-permitted", options.reduced_permitted,
              "the responsible authority consents to reduced inspection");
}

} // namespace

void add_batch_open(Command& batch) {
    const auto options = std::make_shared<Options>();
    Command command = batch.subcommand("open", "open a batch and choose the units to test");
    command.option("FILE", options->file, "batch file to make: NAME.batch.json")
        .required("FILE")
        .option("--id", options->id, "name of the batch; NAME where not said")
        .repeated("--serials", options->serials,
                  "range of serials, SU-0001..SU-0280; may be given several times")
        .option("--serials-file", options->serials_file,
                "serials, one a line, or CSV with the column unit")
        .option("--profile", options->profile, "tolerance profile: a name or a file NAME.toml")
        .required("--profile")
        .option("--seed", options->seed, "seed of the random choice; drawn where not given");
    command
        .flag("--for-buyer", options->for_buyer,
              "choose the units with a part of the buyer's, later: `batch choose`")
        .flag("--rehearsal", options->rehearsal,
              "take simulated runs and stated times; every page will say SIMULATED")
        .option("--resubmits", options->resubmits,
                "earlier batch file with units of this one; the certificate names it")
        .option("--key", options->signing.key_file, "key file that signs the entry")
        .required("--key")
        .option("--at", options->signing.at, "in a rehearsal: the time to be stated (RFC 3339)");
    command.option("--pool-undecided", options->pooled_runs,
                   "so many undecided runs of a unit are judged once as one, 2 to 10");
    add_plan_options(command, options->plan);
    add_history_options(command, options->history);
    command.flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_open")
        .runs([options] { return open(*options); });
}

} // namespace dropledger::cli
