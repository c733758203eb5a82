// A transport that plays recorded bytes and remembers what was written to it.
//
// Assumes: `cuts` are the sizes of the successive reads, repeated from the start when used up;
// empty means one read per 4 KiB.
#pragma once

#include "bench/link/transport.hpp"

#include <vector>

namespace dropledger::link {

class Replay final : public Transport {
public:
    enum class Ending : std::uint8_t { gone, silence };

    explicit Replay(std::string recorded, std::vector<std::size_t> cuts = {},
                    Ending ending = Ending::gone);

    [[nodiscard]] Read read(std::chrono::milliseconds timeout) override;
    [[nodiscard]] Status write(std::string_view bytes) override;
    void close() override { closed_ = true; }

    [[nodiscard]] const std::string& written() const { return written_; }

private:
    std::string recorded_;
    std::vector<std::size_t> cuts_;
    Ending ending_;
    std::size_t at_ = 0;
    std::size_t next_cut_ = 0;
    std::string written_;
    bool closed_ = false;
};

} // namespace dropledger::link
