#include "bench/capture/wiring.hpp"

#include <gtest/gtest.h>

namespace dropledger::capture {
namespace {

const std::string travel = "[travel]\nspeed_mps = 0.5\n";
const std::string channel =
    "[[channel]]\nchannel = 0\ncommand = \"V\"\ngate0 = \"G\"\ngate0_dark = \"high\"\n";

TEST(Wiring, SaysWhichSignalIsWhat) {
    const auto found =
        parse_wiring("[capture]\nsample_rate_hz = 2000000\nshortest_dark_us = 150\n"
                     "[travel]\na = \"A\"\nb = \"B\"\nmm_per_count = -0.05\n"
                     "[[channel]]\nchannel = 3\ncommand = \"V\"\ncommand_edge = \"falling\"\n"
                     "gate0 = \"G0\"\ngate0_dark = \"low\"\ngate0_glitch_us = 20\n"
                     "gate1 = \"G1\"\ngate1_dark = \"high\"\n",
                     "w.toml");
    ASSERT_TRUE(found) << found.error().message();
    EXPECT_EQ(found->wires, (std::vector<std::string>{"A", "B", "V", "G0", "G1"}));
    const auto& encoder = std::get<Encoder>(found->travel);
    EXPECT_EQ(encoder.b, 1U);
    EXPECT_DOUBLE_EQ(encoder.um_per_count, -50.0);
    ASSERT_EQ(found->commands.size(), 1U);
    EXPECT_FALSE(found->commands[0].rising);
    ASSERT_EQ(found->gates.size(), 2U);
    EXPECT_FALSE(found->gates[0].dark_high);
    EXPECT_EQ(found->gates[0].glitch_us, 20);
    EXPECT_TRUE(found->gates[1].dark_high);
    EXPECT_EQ(found->gates[1].channel, 3);
    EXPECT_EQ(found->sample_rate_hz, 2e6);
    EXPECT_EQ(found->shortest_dark_us, 150);
}

TEST(Wiring, RefusesWhatCannotBe) {
    struct Row {
        std::string text;
        const char* says;
    };
    for (const Row& row :
         {Row{channel, "how far the machine went"},
          Row{travel, "which signals belong to which unit"},
          Row{"[travel]\n" + channel, "measured in no way"},
          Row{"[travel]\nspeed_mps = 0.5\npulses = \"W\"\nmm_per_pulse = 10\n" + channel,
              "several ways"},
          Row{"[travel]\na = \"A\"\nmm_per_count = 0.1\n" + channel, "the name of a signal"},
          Row{"[travel]\npulses = \"W\"\n" + channel, "the length of one step"},
          Row{travel + channel + channel, "channel 0 is wired twice"},
          Row{travel + channel + "gate1 = \"G\"\ngate1_dark = \"low\"\n",
              "w.toml:8: the signal `G` is wired twice"},
          Row{travel + "[[channel]]\nchannel = 0\ncommand = \"V\"\n", "has no gate"},
          Row{travel + "[[channel]]\nchannel = 0\ngate0 = \"G\"\n", "high or low"},
          Row{travel + "[[channel]]\nchannel = 0\ngate0 = \"G\"\ngate0_dark = \"up\"\n",
              "neither high nor low"},
          Row{travel + channel + "speed = 3\n", "unknown key 'speed'"},
          Row{travel + "[[channel]]\nchannel = 16\ngate0 = \"G\"\ngate0_dark = \"high\"\n", "16"},
          Row{"not toml", "w.toml:1"}}) {
        const auto found = parse_wiring(row.text, "w.toml");
        ASSERT_FALSE(found) << row.text;
        EXPECT_NE(found.error().message().find(row.says), std::string::npos)
            << found.error().message();
    }
}

} // namespace
} // namespace dropledger::capture
