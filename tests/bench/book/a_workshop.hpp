// A folder with simulated logs, records and profiles, as an (invented) workshop keeps it.
#pragma once

#include "analysis/verdict/profile.hpp"
#include "bench/book/indexer.hpp"
#include "bench/book/judging.hpp"
#include "bench/virtual/run_log.hpp"
#include "tests/bench/io/temporary_folder.hpp"

#include <algorithm>
#include <fstream>
#include <stdexcept>

namespace dropledger::book {

constexpr const char* small_profile = R"(name = "small"
title = "A small profile for tests"
mode = "single"
confidence = 0.95
least_drops = 50

[limits]
miss_index = 0.05
multiples_index = 0.30
quality_of_feed_index = 0.50
precision = 0.40
offset_mm = 50.0
p95_abs_mm = 90.0
)";

inline audit::ChooseProfile judged_small() {
    return [](const droplog::Header&, ledger::Mode) -> Result<audit::ProfileChoice> {
        auto profile = verdict::parse_profile(small_profile, "small.toml");
        if (!profile)
            return profile.error();
        return audit::ProfileChoice{*std::move(profile), ""};
    };
}

class Workshop {
public:
    // A day's run of a fixture's scenario; gives the log's path.
    std::string log(const std::string& name, const std::string& scenario, int day,
                    std::int64_t drops = 300) {
        auto read =
            bench_virtual::read_scenario(DROPLEDGER_FIXTURES "/scenarios/" + scenario + ".toml");
        if (!read)
            throw std::logic_error(read.error().message());
        read->drops = drops;
        read->seed = static_cast<std::uint64_t>(day);
        const std::string path = folder_ / name;
        std::ofstream file{path, std::ios::binary};
        constexpr std::int64_t a_day_s = 86400;
        bench_virtual::simulate_log(*read,
                                    {.line = [&](std::string_view line) { file << line; },
                                     .truth = {},
                                     .pulse = {},
                                     .key = {}},
                                    bench_virtual::usual_start_s + day * a_day_s);
        return path;
    }

    // The reference gate of the fixtures' unit sees this share of the seeds.
    std::string record(const std::string& id, double efficiency,
                       const std::string& date = "2026-01-02") {
        const std::string path = folder_ / (id + ".toml");
        files::put_content(
            path, "schema = \"dropledger/calibration/1\"\nid = \"" + id + "\"\ndate = \"" + date +
                      "\"\nexpires = \"2026-12-31\"\n[holds_for]\nunit = \"U-0101\"\ngate = "
                      "1\n[efficiency]\nvalue = " +
                      std::to_string(efficiency) + "\nlow = " + std::to_string(efficiency - 0.02) +
                      "\nhigh = " + std::to_string(std::min(1.0, efficiency + 0.02)) +
                      "\nconfidence = 0.95\nmethod = \"constructed\"\n");
        return path;
    }

    std::string file(const std::string& name, const std::string& content) {
        files::put_content(folder_ / name, content);
        return folder_ / name;
    }

    [[nodiscard]] Book book(const std::string& name = "bench.book") const {
        auto book = Book::open(folder_ / name, true);
        if (!book)
            throw std::logic_error(book.error().message());
        return *std::move(book);
    }
    [[nodiscard]] std::string folder() const { return folder_ / ""; }
    [[nodiscard]] std::string path(const std::string& name) const { return folder_ / name; }

private:
    files::TemporaryFolder folder_;
};

// Every row of the book as text, to compare two books.
inline std::string all_of(const Book& book) {
    std::string rows;
    const std::vector<Run> runs = book.runs().value();
    for (const Run& run : runs) {
        rows += run.run_id + "," + run.file + "," + run.sha256 + "," + run.started + "," +
                run.crop + "," + run.seed_lot + "," + std::string(name_of(run.mode)) + "," +
                run.profile + "," + run.calibration + "," + std::string(name_of(run.outcome)) +
                "\n";
        for (const Verdict& verdict : run.verdicts) {
            rows += "  " + std::to_string(verdict.channel) + "," + verdict.unit + "," +
                    std::string(name_of(verdict.outcome)) + "," + verdict.reason + "\n";
            for (const Quantity& one : verdict.quantities)
                rows += "    " + one.group + "." + one.key + "=" + std::to_string(one.value) + "\n";
        }
    }
    const std::vector<Unit> units = book.units().value();
    const std::vector<SeedLot> lots = book.seed_lots().value();
    for (const auto& texts : {book.calibrations().value(), book.profiles().value()})
        for (const TextEntry& one : texts)
            rows += one.id + "," + one.file + "," + one.sha256 + "," + one.text + "\n";
    for (const Unit& one : units)
        rows += one.unit + "," + std::to_string(one.runs) + "," + one.first + "," + one.last + "," +
                std::string(name_of(one.last_outcome)) + "\n";
    for (const SeedLot& one : lots)
        rows += one.lot + "," + one.crop + "," + std::to_string(one.runs) + "\n";
    return rows;
}

} // namespace dropledger::book
