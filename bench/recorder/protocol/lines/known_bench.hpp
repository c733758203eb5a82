// Whose lines a log holds, as far as `hello` tells: PROTOCOL, CHANNELS, FIRMWARE and the BOOTs that
// were named so far.
//
// Assumes: whole `hello` lines, without LF.
// Undefined when: no hello has been kept yet: any controller may speak then. A second controller
// whose FIRMWARE names no serial cannot be told from the first one started anew, as long as its BOOT
// is new.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <string_view>

namespace dropledger::recorder {

class KnownBench {
public:
    void keep(std::string_view hello); // it stands in the log
    // What shows that another controller says this, in words.
    [[nodiscard]] std::optional<std::string> difference(std::string_view hello) const;

    // Whether FIRMWARE names the single controller: `PROGRAM #SERIAL`.
    [[nodiscard]] bool has_serial() const { return firmware_.find('#') != std::string::npos; }

private:
    std::optional<std::string> protocol_;
    std::string channels_;
    std::string firmware_;
    std::string boot_;
    std::set<std::string> former_boots_;
};

} // namespace dropledger::recorder
