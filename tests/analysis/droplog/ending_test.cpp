// Why a run ended, covered by the last seal.
#include "analysis/droplog/soundness.hpp"
#include "tests/analysis/droplog/logs.hpp"

#include <gtest/gtest.h>

using namespace dropledger;
using namespace dropledger::droplog;

namespace {

PrivateKey test_key() {
    PrivateKey key{};
    key.fill(5);
    return key;
}

Integrity integrity_of(const std::string& log) {
    const auto reading = check(log);
    EXPECT_TRUE(reading);
    return reading ? reading->integrity : Integrity{};
}

// The lines under right seals, whatever was done to them; the signature is made anew too.
std::string sealed_anew(const std::vector<std::string>& lines) {
    std::string log;
    SealChain chain;
    for (const std::string& line : lines) {
        const auto fields = fields_of(std::string_view{line}.substr(0, line.rfind('*')));
        const std::size_t count = chain.lines();
        if (fields[0] == "@seal")
            log += encode("@seal," + std::to_string(count) + ',' + to_hex(chain.seal())) + '\n';
        else if (fields[0] == "@close")
            log += encode("@close," + std::string{fields[1]} + ',' +
                          to_hex(public_key_of(test_key())) + ',' +
                          to_hex(sign(test_key(), bytes_of(chain.last())))) +
                   '\n';
        else {
            log += line;
            chain.add(line);
        }
    }
    return log;
}

// A whole run's lines; the last three are @ending, @seal and @close.
std::vector<std::string> whole_run() {
    return lines_of(healthy_log(3, test_key()));
}

} // namespace

TEST(Ending, IsCoveredByTheLastSealOfWhatTheWriterCloses) {
    const Integrity found = integrity_of(joined(whole_run()));
    EXPECT_TRUE(found.reason_covered);
    EXPECT_TRUE(is_sound(found));
}

// 2026-11-25: `interrupted` made `count` in @close went unnoticed, signature and all.
TEST(Ending, AChangedClosingReasonIsNotSound) {
    auto lines = whole_run();
    lines.back().replace(lines.back().find("count"), 5, "host0");
    lines.back() = with_right_check(lines.back());
    const Integrity found = integrity_of(joined(lines));
    EXPECT_TRUE(found.seals.intact);
    EXPECT_TRUE(found.is_signed);
    EXPECT_FALSE(found.reason_covered);
    EXPECT_FALSE(is_sound(found));
    EXPECT_TRUE(found.complete());
    EXPECT_EQ(faults(found),
              std::vector<std::string>{"the reason under the last seal (`@ending`) is not that of "
                                       "@close (line 16)"});
}

TEST(Ending, StandsRightUnderTheLastSeal) {
    auto lines = whole_run();
    lines.insert(lines.end() - 2, encode("@note,later") + '\n');
    Integrity found = integrity_of(sealed_anew(lines));
    EXPECT_TRUE(found.seals.intact);
    EXPECT_FALSE(found.reason_covered);
    EXPECT_EQ(faults(found).size(), 1U);
    lines = whole_run();
    lines.insert(lines.end() - 1, {encode("@note,later") + '\n', encode("@seal,0,x") + '\n'});
    found = integrity_of(sealed_anew(lines));
    EXPECT_TRUE(found.seals.intact);
    EXPECT_EQ(faults(found).size(), 1U);
}

TEST(Ending, TheLatestCountsWhereARunWentOnAfterOne) {
    auto lines = whole_run();
    lines.insert(lines.end() - 3, {encode("@ending,interrupted") + '\n', encode("@seal,0,x") + '\n',
                                   encode("@resumed,1") + '\n'});
    const Integrity found = integrity_of(sealed_anew(lines));
    EXPECT_TRUE(found.reason_covered);
    EXPECT_TRUE(is_sound(found));
}

TEST(Ending, IsMissingInOlderLogsWhichAreSoundAllTheSame) {
    auto lines = whole_run();
    lines.erase(lines.end() - 3);
    const Integrity found = integrity_of(sealed_anew(lines));
    EXPECT_FALSE(found.reason_covered);
    EXPECT_TRUE(is_sound(found));
}

TEST(Ending, CoversNothingUnderASealThatDoesNotHold) {
    auto lines = whole_run();
    lines[1] = encode("@set,mode,portion") + '\n';
    EXPECT_FALSE(integrity_of(joined(lines)).reason_covered);
}

TEST(Ending, OfALogThatIsNotClosedIsNoFault) {
    auto lines = whole_run();
    lines.pop_back();
    const Integrity found = integrity_of(joined(lines));
    EXPECT_FALSE(found.reason_covered);
    EXPECT_EQ(faults(found), std::vector<std::string>{"it does not end with @close"});
}

TEST(Ending, IsComparedAsItIsWritten) {
    auto lines = whole_run();
    lines[lines.size() - 3] = encode("@ending,%63ount") + '\n';
    EXPECT_FALSE(is_sound(integrity_of(sealed_anew(lines))));
}
