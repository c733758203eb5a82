#include "tests/fuzz/expand.hpp"

#include "analysis/droplog/seal.hpp"
#include "tests/fuzz/reference.hpp"

#include <fmt/format.h>

namespace reference {

namespace {

using dropledger::droplog::SealChain;

std::string with_check(std::string_view body) {
    return fmt::format("{}*{:04X}", body, crc16(body));
}

} // namespace

std::string expanded(std::string_view shorthand) {
    std::string log;
    SealChain chain;
    while (!shorthand.empty()) {
        const auto lf = shorthand.find('\n');
        std::string line{shorthand.substr(0, lf)};
        const bool is_seal = line == "@seal~";
        if (is_seal) {
            const auto lines = chain.lines();
            line = fmt::format("@seal,{},{}~", lines, dropledger::droplog::to_hex(chain.seal()));
        }
        if (line.ends_with('~'))
            line = with_check(std::string_view{line}.substr(0, line.size() - 1));
        if (lf == std::string_view::npos)
            return log + line;
        line += '\n';
        if (!is_seal)
            chain.add(line);
        log += line;
        shorthand.remove_prefix(lf + 1);
    }
    return log;
}

} // namespace reference
