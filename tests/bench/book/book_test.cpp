#include "a_workshop.hpp"

#include "analysis/batch/chain/batch_file.hpp"
#include "analysis/droplog/seal.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <thread>

namespace dropledger::book {
namespace {

Added added(Book& book, const std::vector<std::string>& files) {
    auto found = add(book, files, judged_small());
    if (!found)
        throw std::runtime_error(found.error().message());
    return *std::move(found);
}

TEST(BenchBook, HoldsWhatALogSays) {
    Workshop shop;
    const std::string log = shop.log("a.droplog", "healthy", 1);
    Book kept = shop.book();
    EXPECT_EQ(added(kept, {log}).runs, 1U);
    const auto runs = kept.runs();
    ASSERT_TRUE(runs);
    ASSERT_EQ(runs->size(), 1U);
    const book::Run& run = runs->front();
    EXPECT_EQ(run.file, "a.droplog"); // from the book's folder
    EXPECT_EQ(run.started, "2026-01-06T08:00:00Z");
    EXPECT_EQ(run.mode, droplog::Mode::single);
    EXPECT_EQ(run.seed_lot, "INV-CH-07");
    EXPECT_EQ(run.thousand_seed_mass_mg, 1500);
    EXPECT_EQ(run.profile, "small");
    EXPECT_TRUE(run.complete && run.seals_intact);
    EXPECT_FALSE(run.is_signed);
    EXPECT_EQ(run.outcome, verdict::Outcome::within);
    ASSERT_EQ(run.verdicts.size(), 1U);
    EXPECT_EQ(run.verdicts.front().unit, "U-0101");
    EXPECT_EQ(run.verdicts.front().drops, 300);
    EXPECT_EQ(kept.units().value().front().runs, 1);
    EXPECT_EQ(kept.seed_lots().value().front().crop, "chicory");
}

TEST(BenchBook, RebuiltFromItsFolderIsTheSameBook) {
    Workshop shop;
    const std::vector<std::string> logs{shop.log("a.droplog", "healthy", 1),
                                        shop.log("b.droplog", "dirty_gate", 2),
                                        shop.log("c.droplog", "six_units", 3)};
    Book grown = shop.book();
    added(grown, {logs[1], logs[0]});
    added(grown, {shop.record("CAL-1", 0.84)});
    added(grown, {shop.file("small.toml", small_profile), logs[2]});
    Book rebuilt = shop.book("other.book");
    const auto found = rebuild(rebuilt, shop.folder(), judged_small());
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->runs, 3U);
    EXPECT_TRUE(found->left_out.empty());
    EXPECT_EQ(all_of(grown), all_of(rebuilt));
    const std::string before = all_of(rebuilt);
    ASSERT_TRUE(rebuild(rebuilt, shop.folder(), judged_small()));
    EXPECT_EQ(all_of(rebuilt), before);
}

// A half-blind sensor: its two gates disagree without its calibration, within with it; the book judges anew when
// it comes.
TEST(BenchBook, JudgesEarlierRunsAgainWhenTheirCalibrationComes) {
    Workshop shop;
    Book kept = shop.book();
    added(kept, {shop.log("b.droplog", "dirty_gate", 2, 600)});
    const double observed = 0.165; // about what the gate overlooks in this scenario
    EXPECT_EQ(kept.runs().value().front().outcome, verdict::Outcome::undecided);
    const Added again = added(kept, {shop.record("CAL-1", 1.0 - observed)});
    EXPECT_EQ(again.judged_again, 1U);
    const book::Run run = kept.runs().value().front();
    EXPECT_EQ(run.calibration, "CAL-1");
    EXPECT_NE(run.outcome, verdict::Outcome::outside);
}

TEST(BenchBook, SaysWhereALogIsGone) {
    Workshop shop;
    const std::string log = shop.log("a.droplog", "healthy", 1);
    Book kept = shop.book();
    added(kept, {log});
    std::filesystem::remove(log);
    const Added again = added(kept, {shop.record("CAL-1", 0.9)});
    EXPECT_EQ(again.judged_again, 0U);
    ASSERT_EQ(again.left_out.size(), 1U);
    EXPECT_NE(again.left_out.front().find("stands as it was"), std::string::npos);
    EXPECT_EQ(kept.runs().value().size(), 1U);
}

TEST(BenchBook, EntersAllOrNothing) {
    Workshop shop;
    const std::string log = shop.log("a.droplog", "healthy", 1);
    const std::string broken =
        shop.file("CAL-X.toml", "schema = \"dropledger/calibration/1\"\nid = 5\n");
    Book kept = shop.book();
    const auto found = add(kept, {log, broken}, judged_small());
    ASSERT_FALSE(found);
    EXPECT_NE(found.error().where.find("CAL-X.toml:"), std::string::npos)
        << found.error().message();
    EXPECT_EQ(all_of(kept), "");
    const auto foreign = add(kept, {shop.file("notes.txt", "hello")}, judged_small());
    ASSERT_FALSE(foreign);
    EXPECT_EQ(foreign.error().kind, ErrorKind::input);
}

TEST(BenchBook, ARebuildLeavesOutWhatItCannotReadAndSaysSo) {
    Workshop shop;
    shop.log("a.droplog", "healthy", 1);
    shop.file("b.droplog", "@droplog,1,nonsense\n");
    shop.file("CAL-X.toml", "schema = \"dropledger/calibration/1\"\nid = 5\n");
    shop.file("other.toml", "x = 1\n"); // no business of the book's
    Book kept = shop.book();
    const auto found = rebuild(kept, shop.folder(), judged_small());
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->runs, 1U);
    EXPECT_EQ(found->left_out.size(), 2U);
    EXPECT_FALSE(rebuild(kept, shop.path("nowhere"), judged_small()));
    EXPECT_EQ(kept.runs().value().size(), 1U); // as it was
}

TEST(BenchBook, ARebuildTakesNothingThatWasDroppedOnTheStationsPages) {
    Workshop shop;
    shop.log("a.droplog", "healthy", 1);
    for (const char* const folder : {"dropped-packs/0123456789abcdef", "field-logs"}) {
        std::filesystem::create_directories(shop.path(folder));
        shop.log(std::string(folder) + "/b.droplog", "dirty_gate", 2);
    }
    Book kept = shop.book();
    const auto found = rebuild(kept, shop.folder(), judged_small());
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->runs, 1U);
    EXPECT_TRUE(found->left_out.empty());
}

TEST(BenchBook, TakesACopyForTheSameRunAndRefusesOtherContent) {
    Workshop shop;
    const std::string log = shop.log("b.droplog", "healthy", 1);
    std::filesystem::copy_file(log, shop.path("a.droplog"));
    Book kept = shop.book();
    added(kept, {log, shop.path("a.droplog")});
    ASSERT_EQ(kept.runs().value().size(), 1U);
    EXPECT_EQ(kept.runs().value().front().file, "a.droplog");
    const std::string content = files::content_of(log);
    const std::string cut = shop.file("c.droplog", content.substr(0, content.size() / 2));
    const auto found = add(kept, {cut}, judged_small());
    ASSERT_FALSE(found);
    EXPECT_NE(found.error().what.find("with other content"), std::string::npos);
    const auto twin = add(kept, {shop.record("CAL-1", 0.9)}, judged_small());
    ASSERT_TRUE(twin);
    std::string other = files::content_of(shop.path("CAL-1.toml"));
    EXPECT_FALSE(add(kept, {shop.file("twin.toml", other + "# other\n")}, judged_small()));
}

TEST(BenchBook, UsesItsOwnProfileWhereTheLogNamesIt) {
    Workshop shop;
    std::string content = files::content_of(shop.log("a.droplog", "healthy", 1));
    Book kept = shop.book();
    std::string strict = small_profile;
    strict.replace(strict.find("\"small\""), 7, "\"strict\"");
    added(kept, {shop.file("strict.toml", strict)});
    const auto options = audit_options(kept, judged_small());
    ASSERT_TRUE(options);
    droplog::Header header;
    EXPECT_EQ(options->choose_profile(header, ledger::Mode::single)->profile.name, "small");
    header.run["tolerance"] = "strict";
    EXPECT_EQ(options->choose_profile(header, ledger::Mode::single)->profile.name, "strict");
    EXPECT_EQ(options->choose_profile(header, ledger::Mode::line)->profile.name,
              "small"); // of another mode
}

std::string a_batch(const std::string& id) {
    batch::OpenRequest request;
    request.id = id;
    for (int i = 0; i < 20; ++i)
        request.serials.push_back("U-" + std::to_string(i));
    request.profile = {"small", droplog::to_hex(droplog::sha256(small_profile)), small_profile};
    request.plan = batch::own_plan(20, 5, 0).value();
    request.choice.seed = 7;
    const auto opened = batch::open_batch(std::move(request), {{1}, "2026-03-01T08:00:00Z"});
    return batch::to_text(opened.value());
}

TEST(BenchBook, HoldsBatchesAndWhatTheyCameTo) {
    Workshop shop;
    Book kept = shop.book();
    EXPECT_EQ(added(kept, {shop.file("spring.batch.json", a_batch("SPRING"))}).batches, 1U);
    const Batch batch = kept.batches().value().front();
    EXPECT_EQ(batch.id, "SPRING");
    EXPECT_EQ(batch.lot, 20);
    EXPECT_EQ(batch.profile, "small");
    EXPECT_FALSE(batch.decision);
    EXPECT_FALSE(add(kept, {shop.file("twin.batch.json", a_batch("SPRING"))}, judged_small()));
    Book rebuilt = shop.book("other.book");
    std::filesystem::remove(shop.path("twin.batch.json"));
    ASSERT_TRUE(rebuild(rebuilt, shop.folder(), judged_small()));
    EXPECT_EQ(rebuilt.batches().value().front().sha256, batch.sha256);
}

TEST(BenchBook, RefusesFilesThatAreNoBook) {
    Workshop shop;
    const auto absent = Book::open(shop.path("none.book"), false);
    ASSERT_FALSE(absent);
    EXPECT_EQ(absent.error().kind, ErrorKind::input);
    const auto text = Book::open(shop.file("text.book", std::string(5000, 'x')), true);
    ASSERT_FALSE(text);
    EXPECT_EQ(text.error().kind, ErrorKind::input);
    EXPECT_NE(text.error().remedy.find("rebuild"), std::string::npos);
    {
        SQLite::Database other(shop.path("other.book"),
                               SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        other.exec("CREATE TABLE things (x)");
    }
    EXPECT_FALSE(Book::open(shop.path("other.book"), true));
    {
        SQLite::Database newer(shop.path("newer.book"),
                               SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        newer.exec(
            "CREATE TABLE run (x); PRAGMA application_id = 0x44524c42; PRAGMA user_version = 9");
    }
    const auto newer = Book::open(shop.path("newer.book"), true);
    ASSERT_FALSE(newer);
    EXPECT_NE(newer.error().what.find("version 9"), std::string::npos);
}

class ForeignParts : public testing::TestWithParam<const char*> {};

TEST_P(ForeignParts, InABookAreRefused) {
    Workshop shop;
    {
        Book kept = shop.book();
        added(kept, {shop.log("a.droplog", "healthy", 1)});
    }
    ASSERT_TRUE(Book::open(shop.path("bench.book"), false));
    {
        SQLite::Database changed(shop.path("bench.book"), SQLite::OPEN_READWRITE);
        changed.exec(GetParam());
    }
    const auto found = Book::open(shop.path("bench.book"), false);
    ASSERT_FALSE(found);
    EXPECT_EQ(found.error().kind, ErrorKind::input);
    EXPECT_NE(found.error().what.find("not this program's"), std::string::npos);
    EXPECT_FALSE(Book::open(shop.path("bench.book"), true));
}

INSTANTIATE_TEST_SUITE_P(
    BenchBook, ForeignParts,
    testing::Values(
        "CREATE TRIGGER kind AFTER INSERT ON verdict BEGIN UPDATE verdict SET outcome = "
        "'within'; END",
        "CREATE VIEW more AS SELECT * FROM run", "CREATE TABLE more (x)",
        "CREATE INDEX more ON run (file)", "ALTER TABLE run ADD COLUMN more TEXT",
        "DROP INDEX verdict_unit",
        "DROP VIEW unit; CREATE VIEW unit AS SELECT 'U-1' AS unit, 1 AS runs, '' AS "
        "first, '' AS last, 'within' AS last_outcome",
        "DROP TABLE batch"));

TEST(BenchBook, WithStatisticsOfItsTablesIsStillOne) {
    Workshop shop;
    {
        Book kept = shop.book();
        added(kept, {shop.log("a.droplog", "healthy", 1)});
    }
    {
        SQLite::Database other(shop.path("bench.book"), SQLite::OPEN_READWRITE);
        other.exec("ANALYZE; VACUUM");
    }
    EXPECT_TRUE(Book::open(shop.path("bench.book"), false));
}

TEST(BenchBook, MadeByManyAtOnceIsOneBook) {
    Workshop shop;
    constexpr int many = 16;
    std::vector<std::thread> makers;
    std::vector<std::string> said(many);
    for (int i = 0; i < many; ++i)
        makers.emplace_back([&, i] {
            const auto book = Book::open(shop.path("new.book"), true);
            const auto at = static_cast<std::size_t>(i);
            said[at] = book ? "" : book.error().message();
        });
    for (std::thread& one : makers)
        one.join();
    EXPECT_EQ(said, std::vector<std::string>(many));
    EXPECT_TRUE(Book::open(shop.path("new.book"), false));
}

TEST(BenchBook, AFailedChangeLeavesItAsItWas) {
    Workshop shop;
    Book kept = shop.book();
    added(kept, {shop.log("a.droplog", "healthy", 1)});
    const std::string before = all_of(kept);
    const Status failed = kept.change([](Book& inside) -> Status {
        inside.clear();
        return Error{ErrorKind::device, "here", "a reason", ""};
    });
    EXPECT_FALSE(failed);
    EXPECT_EQ(all_of(kept), before);
}

} // namespace
} // namespace dropledger::book
