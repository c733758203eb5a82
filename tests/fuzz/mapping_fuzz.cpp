// A mapping of a field table's columns, and a small table read by it.
#include "analysis/field/input/drops.hpp"
#include "analysis/field/table/mapping.hpp"
#include "tests/fuzz/target.hpp"

using namespace dropledger;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const auto mapping = field::parse_mapping(fuzz::text_of(bytes, size), "mapping.toml");
    if (!mapping)
        return 0;
    StringSource table{"pass;row,drop;x,y,e,n,seeds,time,alert\n1;1,0;0.0,0.0,0,0,1,0,0\n"};
    static_cast<void>(field::read_field({{&table, "field.csv"}}, *mapping));
    return 0;
}
