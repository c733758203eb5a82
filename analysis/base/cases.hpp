// One function for each alternative of a variant: std::visit(Cases{[](const A&) …, [](const B&) …}, v).
// An alternative without a function does not compile.
#pragma once

namespace dropledger {

template <class... Functions> struct Cases : Functions... { using Functions::operator()...; };
template <class... Functions> Cases(Functions...) -> Cases<Functions...>;

} // namespace dropledger
