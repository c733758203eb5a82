#include "analysis/droplog/seal_check.hpp"

#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>

#include <algorithm>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

PrivateKey test_key() {
    PrivateKey key{};
    key.fill(9);
    return key;
}

// Two sealed blocks, signed.
std::string small_sealed_log() {
    return written([](Writer& writer) {
        begin_run(writer);
        writer.controller(hello_line({0, 0}, {1, "A1", 1, "fw"}));
        writer.controller(travel_line({1, 10}, 0));
        writer.seal();
        writer.controller(drop_line({2, 20}, {0, 0, 180'000, 1}));
        writer.note("a remark");
        writer.controller(pulse_line({3, 30}, {0, 1, 1'500, 400}));
        writer.close("count", test_key());
    });
}

// Whether reading tells this log from a good one.
bool is_found(const std::string& log) {
    const auto reading = check(log);
    return !reading || !is_clean(*reading) || !reading->integrity.is_signed;
}

SealTally seals_of(const std::string& log) {
    return check(log)->integrity.seals;
}

} // namespace

TEST(SealCheck, FindsEveryChangedByte) {
    const std::string log = small_sealed_log();
    ASSERT_FALSE(is_found(log));
    for (std::size_t i = 0; i < log.size(); ++i)
        for (const int value :
             {log[i] ^ 1, log[i] ^ 0x20, log[i] ^ 0x80, 0, int{'\n'}, int{','}, int{'0'}}) {
            std::string bad = log;
            bad[i] = static_cast<char>(value);
            if (bad != log) {
                ASSERT_TRUE(is_found(bad)) << "byte " << i << " made " << value;
            }
        }
}

TEST(SealCheck, FindsEveryRemovedAndEveryInsertedByte) {
    const std::string log = small_sealed_log();
    for (std::size_t i = 0; i < log.size(); ++i) {
        std::string shorter = log;
        shorter.erase(i, 1);
        ASSERT_TRUE(is_found(shorter)) << "byte " << i << " removed";
        std::string longer = log;
        longer.insert(i, "x");
        ASSERT_TRUE(is_found(longer)) << "x before byte " << i;
    }
}

TEST(SealCheck, FindsEveryRemovedRepeatedAndExchangedLine) {
    const auto lines = lines_of(small_sealed_log());
    for (std::size_t i = 0; i < lines.size(); ++i) {
        auto removed = lines;
        removed.erase(removed.begin() + static_cast<std::ptrdiff_t>(i));
        EXPECT_TRUE(is_found(joined(removed))) << "without line " << i + 1;
        auto repeated = lines;
        repeated.insert(repeated.begin() + static_cast<std::ptrdiff_t>(i), lines[i]);
        EXPECT_TRUE(is_found(joined(repeated))) << "line " << i + 1 << " twice";
        auto added = lines;
        added.insert(added.begin() + static_cast<std::ptrdiff_t>(i), encode("@note,added") + "\n");
        EXPECT_TRUE(is_found(joined(added))) << "a note before line " << i + 1;
        for (std::size_t k = 0; k < i; ++k) {
            auto exchanged = lines;
            std::swap(exchanged[i], exchanged[k]);
            EXPECT_TRUE(is_found(joined(exchanged))) << "lines " << k + 1 << " and " << i + 1;
        }
    }
}

TEST(SealCheck, FindsEveryEditUnderARecomputedCheck) {
    const auto lines = lines_of(small_sealed_log());
    for (std::size_t i = 0; i < lines.size(); ++i) {
        for (std::size_t k = 0; k < lines[i].rfind('*'); ++k)
            for (const char value : {'0', '1', 'b', ','}) {
                auto edited = lines;
                edited[i][k] = value;
                if (edited[i] == lines[i])
                    continue;
                edited[i] = with_right_check(edited[i]);
                ASSERT_TRUE(is_found(joined(edited))) << edited[i];
            }
    }
}

TEST(SealCheck, FindsANewChainUnderAnOldSignature) {
    auto lines = lines_of(small_sealed_log());
    const std::string forged = written([&](Writer& writer) {
        for (const std::string& line : lines)
            if (!line.starts_with("@seal") && !line.starts_with("@close") &&
                !line.starts_with("@note"))
                line.starts_with("@") ? writer.note("in place of a setting")
                                      : writer.controller(line.substr(0, line.size() - 1));
        writer.seal();
    });
    const auto reading = check(forged + lines.back());
    ASSERT_TRUE(reading);
    EXPECT_TRUE(reading->integrity.seals.intact);
    EXPECT_TRUE(reading->integrity.bad_signature);
    EXPECT_FALSE(reading->integrity.is_signed);
}

TEST(SealCheck, NamesTheFirstBadLineAndTheBlockItCovers) {
    auto lines = lines_of(small_sealed_log()); // seals stand on lines 7 and 12
    lines[9] = encode("pulse,3,30,0,1,1500,401") + "\n";
    const SealTally second = seals_of(joined(lines));
    EXPECT_FALSE(second.intact);
    EXPECT_EQ(second.first_bad_line, 12U);
    EXPECT_EQ(second.first_bad_block_start, 8U);
    EXPECT_EQ(second.count, 2U);
    lines[5] = encode("travel,1,10,1") + "\n";
    const SealTally both = seals_of(joined(lines));
    EXPECT_EQ(both.first_bad_line, 7U);
    EXPECT_EQ(both.first_bad_block_start, 1U);
}

TEST(SealCheck, DoesNotCondemnTheBlocksAfterABadOne) {
    auto lines = lines_of(healthy_log(1500)); // seals on lines 1001, 2002, 3003 and 3014
    lines[10] = encode("@note,in place of a line") + "\n";
    lines.erase(lines.begin() + 1001, lines.end());
    const SealTally first = seals_of(joined(lines));
    EXPECT_EQ(first.first_bad_line, 1001U);
    auto second_only = lines_of(healthy_log(1500));
    second_only[1500] = encode("@note,in place of a line") + "\n";
    EXPECT_EQ(seals_of(joined(second_only)).first_bad_line, 2002U);
    EXPECT_EQ(seals_of(joined(second_only)).first_bad_block_start, 1002U);
}

TEST(SealCheck, FindsAMissingOrDamagedLastSealAtTheClose) {
    auto lines = lines_of(small_sealed_log());
    lines[11][8] ^= 1;
    EXPECT_EQ(seals_of(joined(lines)).first_bad_line, 13U);
    lines.erase(lines.begin() + 11);
    EXPECT_EQ(seals_of(joined(lines)).first_bad_line, 12U);
    EXPECT_EQ(seals_of(joined(lines)).unsealed_lines, 4U);
}

TEST(SealCheck, FindsADamagedOnlySeal) {
    auto lines = lines_of(healthy_log(2));
    lines[lines.size() - 2][3] ^= 1;
    const SealTally seals = seals_of(joined(lines));
    EXPECT_EQ(seals.count, 0U);
    EXPECT_FALSE(seals.intact);
}

TEST(SealCheck, LeavesLinesAfterTheLastSealOfAnOpenLogUnsealed) {
    auto lines = lines_of(small_sealed_log());
    lines.resize(9);
    const SealTally seals = seals_of(joined(lines));
    EXPECT_TRUE(seals.intact);
    EXPECT_EQ(seals.count, 1U);
    EXPECT_EQ(seals.unsealed_lines, 2U);
}

TEST(SealCheck, RefusesASealWrittenInAnotherWay) {
    const auto lines = lines_of(small_sealed_log());
    std::string upper = lines[6];
    std::transform(upper.begin() + 6, upper.end(), upper.begin() + 6,
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    for (const std::string& seal :
         {with_right_check(upper), encode("@seal,06" + lines[6].substr(7, 65)) + "\n",
          encode("@seal,x,y") + "\n"}) {
        auto edited = lines;
        edited[6] = seal;
        EXPECT_EQ(seals_of(joined(edited)).first_bad_line, 7U) << seal;
    }
}

TEST(SealCheck, CountsACloseThatIsNotTheLastLineAmongTheSealedLines) {
    const std::string log = written([](Writer& writer) {
        begin_run(writer);
        writer.seal();
    });
    const std::string close = encode("@close,host,,") + "\n";
    SealChain chain;
    for (const std::string& line : lines_of(log))
        line.starts_with("@seal") ? static_cast<void>(chain.seal()) : chain.add(line);
    chain.add(close);
    std::string rest;
    Writer writer{[&](std::string_view line) { rest += line; }, std::move(chain)};
    writer.resumed(1);
    writer.close("count", {});
    const auto reading = check(log + close + rest);
    ASSERT_TRUE(reading);
    EXPECT_TRUE(is_clean(*reading));
}
