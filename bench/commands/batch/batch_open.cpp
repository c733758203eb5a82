#include "bench/commands/batch/batch_choose.hpp"
#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/batch_files.hpp"
#include "bench/commands/batch/batch_state.hpp"
#include "bench/commands/batch/resubmission.hpp"
#include "bench/commands/inputs/books.hpp"
#include "bench/commands/inputs/profiles.hpp"
#include "bench/commands/inputs/serials.hpp"
#include "bench/commands/shell/usage.hpp"

#include "analysis/base/text.hpp"
#include "analysis/batch/chain/choice.hpp"
#include "analysis/batch/series/history.hpp"
#include "analysis/droplog/seal.hpp"
#include "bench/book/book.hpp"
#include "bench/evidence/known_profile.hpp"
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
    std::optional<std::int64_t> lot;
    std::vector<std::string> serials;
    std::optional<std::string> serials_file;
    std::string profile;
    std::optional<double> aql;
    std::string level = "II";
    std::optional<std::string> severity;
    std::vector<std::string> history;
    std::optional<std::string> book;
    bool reduced_permitted = false;
    std::optional<std::int64_t> n;
    std::optional<std::int64_t> accept;
    std::optional<double> good;
    std::optional<double> bad;
    double alpha = 0.05;
    double beta = 0.10;
    std::optional<std::string> seed;
    bool for_buyer = false;
    bool rehearsal = false;
    std::optional<std::string> resubmits;
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
    const int plans = (options.aql ? 1 : 0) + (options.n || options.accept ? 1 : 0) +
                      (options.good || options.bad ? 1 : 0);
    if (plans != 1)
        return usage("--aql", "one plan is needed",
                     "give --aql (tables), or --n and --accept, or --good and --bad");
    if (options.n.has_value() != options.accept.has_value() ||
        options.good.has_value() != options.bad.has_value())
        return usage(options.n || options.accept ? "--n" : "--good", "half a plan",
                     "give both of the pair");
    const int choosers =
        (options.severity ? 1 : 0) + (options.history.empty() ? 0 : 1) + (options.book ? 1 : 0);
    if (choosers > 1)
        return usage("--severity", "more than one of --severity, --history and --book",
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

// The book's batches of the same profile, in the order in which they were opened.
Result<std::vector<std::string>> earlier_files(const Options& options, const std::string& profile) {
    if (!options.book)
        return options.history;
    const auto book = open_book(*options.book, false);
    if (!book)
        return book.error();
    const auto batches = book->batches();
    if (!batches)
        return batches.error();
    std::vector<std::string> files;
    for (const book::Batch& one : *batches)
        if (one.profile == profile)
            files.push_back(book::path_in(*book, one.file));
    return files;
}

struct History {
    batch::SeverityChoice severity;
    std::vector<batch::EarlierBatch> batches;
};

Result<History> severity_of(const Options& options, const std::string& profile) {
    const auto files = earlier_files(options, profile);
    if (!files)
        return files.error();
    if (files->empty()) {
        const auto asked = batch::parse_severity(options.severity.value_or("normal"));
        if (!asked)
            return asked.error();
        return History{{*asked, false,
                        options.severity ? "as asked"
                        : options.book   ? "the book has no earlier batch of this profile"
                                         : "no earlier batches were named"},
                       {}};
    }
    std::vector<batch::Batch> earlier;
    for (const std::string& file : *files) {
        auto one = load_batch(file);
        if (!one)
            return one.error();
        earlier.push_back(*std::move(one));
    }
    auto choice = batch::severity_after(earlier, options.reduced_permitted);
    if (!choice)
        return choice.error();
    if (choice->stopped)
        return usage(
            options.book ? "--book" : "--history",
            "sampling is discontinued: five batches were not accepted under tightened inspection",
            "resume when the producer has put the cause right");
    History history{*std::move(choice), {}};
    for (const batch::Batch& one : earlier)
        history.batches.push_back({one.id, one.journal.head()});
    return history;
}

// Plan, and the history that it rests on.
Status take_plan(const Options& options, batch::OpenRequest& request) {
    const std::int64_t lot =
        options.lot.value_or(static_cast<std::int64_t>(request.serials.size()));
    const auto take = [&request](Result<batch::BatchPlan> plan) -> Status {
        if (!plan)
            return plan.error();
        request.plan = *std::move(plan);
        return Done{};
    };
    if (options.n)
        return take(batch::own_plan(lot, *options.n, *options.accept));
    if (options.good)
        return take(batch::two_point_plan(lot, {.good = *options.good,
                                                .bad = *options.bad,
                                                .alpha = options.alpha,
                                                .beta = options.beta}));
    auto history = severity_of(options, request.profile.name);
    if (!history)
        return history.error();
    request.history = std::move(history->batches);
    return take(batch::table_plan({.lot = lot,
                                   .level = options.level,
                                   .aql = *options.aql,
                                   .severity = history->severity.severity},
                                  history->severity.reason));
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

void add_plan_options(Command& command, Options& options) {
    command.option("--aql", options.aql, "acceptance quality limit in percent: plan of the tables")
        .option("--level", options.level, "inspection level: I, II, III, S-1, S-2, S-3, S-4")
        .option("--severity", options.severity,
                "normal, tightened or reduced; normal where not said")
        .option("--book", options.book,
                "bench book: its batches of the same profile are the history")
        .repeated("--history", options.history,
                  "an earlier batch file, in their order, each with --history: the switching rules "
                  "choose the severity")
        .flag("--reduced-permitted", options.reduced_permitted,
              "the responsible authority consents to reduced inspection")
        .option("--n", options.n, "units to test, of a plan of your own")
        .option("--accept", options.accept,
                "with --n: largest number of nonconforming units that accepts")
        .option("--good", options.good, "share of nonconforming units that should be accepted")
        .option("--bad", options.bad, "share that must be found out")
        .option("--alpha", options.alpha, "with --good: risk of not accepting it")
        .option("--beta", options.beta, "with --bad: risk of accepting it");
}

} // namespace

void add_batch_open(Command& batch) {
    const auto options = std::make_shared<Options>();
    Command command = batch.subcommand("open", "open a batch and choose the units to test");
    command.option("FILE", options->file, "batch file to make: NAME.batch.json")
        .required("FILE")
        .option("--id", options->id, "name of the batch; NAME where not said")
        .option("--lot", options->lot, "number of units, to be held against the serials")
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
    add_plan_options(command, *options);
    command.flag("--json", options->json, "print one JSON object and nothing else")
        .manual("batch_open")
        .runs([options] { return open(*options); });
}

} // namespace dropledger::cli
