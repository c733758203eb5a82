// What bytes looked like, in 64 bits: to notice that they are others now. No guard against whoever
// means to fool it: that is what seals and signatures are for.
//
// Source: FNV-1a, 64 bit, as published by its authors (from memory; a test holds known values).
#pragma once

#include <cstdint>
#include <string_view>

namespace dropledger::recorder {

class Imprint {
public:
    void add(std::string_view bytes) {
        constexpr std::uint64_t prime = 1'099'511'628'211U;
        for (const char byte : bytes)
            hash_ = (hash_ ^ static_cast<unsigned char>(byte)) * prime;
    }
    [[nodiscard]] std::uint64_t value() const { return hash_; }
    [[nodiscard]] bool operator==(const Imprint&) const = default;

private:
    std::uint64_t hash_ = 14'695'981'039'346'656'037U;
};

} // namespace dropledger::recorder
