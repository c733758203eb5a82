// The drops of one pass of one row, packed: about ten bytes a drop instead of sixty.
//
// Each drop is written as what it differs by from the one before, in bytes as many as that takes.
// Units: places are kept to 1e-9 of what they are given in (0.1 mm for degrees), times to 1 ms,
// offsets to 0.01 mm. Undefined when: nothing.
#pragma once

#include "analysis/field/table/drop.hpp"

#include <cstddef>
#include <string>
#include <vector>

namespace dropledger::field {

class Line {
public:
    Line() = default;
    explicit Line(const std::vector<FieldDrop>& drops);

    void push_back(const FieldDrop& drop);

    [[nodiscard]] std::size_t size() const { return size_; }
    [[nodiscard]] bool empty() const { return size_ == 0; }
    [[nodiscard]] std::vector<FieldDrop> drops() const;
    [[nodiscard]] const FieldDrop& last() const { return last_; } // where it is not empty

private:
    friend class LineReader;

    struct Steps { // from drop to drop, as whole numbers
        std::int64_t time_ms = 0;
        std::int64_t x = 0;
        std::int64_t y = 0;
        std::int64_t line = 0;
    };

    void put(std::int64_t value);
    void put_byte(std::uint8_t byte);

    std::vector<std::string> chunks_; // growing in size, so that a short line stays small
    std::size_t size_ = 0;
    FieldDrop last_;
    Steps at_;
    Steps step_;
};

} // namespace dropledger::field
