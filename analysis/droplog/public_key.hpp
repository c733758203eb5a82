// Which Ed25519 public keys may be trusted at all.
//
// Refused: the eight points of small order, under which anyone can make a signature that holds for
// many messages, or for all; and a key written in another way than RFC 8032, section 5.1.2, says
// (y not below 2^255 - 19, or a sign on x = 0), because one key would have two names.
// Source: RFC 8032; the points from memory, and recomputed by the independent verifier of the tests.
#pragma once

#include "analysis/droplog/seal.hpp"

namespace dropledger::droplog {

// Does not say that the bytes are a point of the curve: no signature holds under those that are not.
[[nodiscard]] bool may_be_trusted(const PublicKey& key);

} // namespace dropledger::droplog
