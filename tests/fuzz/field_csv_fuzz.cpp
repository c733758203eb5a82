// A field table: read whole and in small pieces it says the same.
#include "analysis/field/input/drops.hpp"
#include "analysis/field/table/mapping.hpp"
#include "tests/fuzz/target.hpp"

#include <algorithm>

using namespace dropledger;

namespace {

class InPieces final : public ByteSource {
public:
    InPieces(std::string bytes, std::size_t piece) : rest_(std::move(bytes)), piece_(piece) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        const std::size_t size = std::min({room.size(), rest_.size() - at_, piece_});
        std::copy_n(rest_.data() + at_, size, room.data());
        at_ += size;
        return size;
    }

private:
    std::string rest_;
    std::size_t piece_;
    std::size_t at_ = 0;
};

} // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    const std::string text = fuzz::text_of(bytes, size);
    InPieces whole{text, text.size() + 1};
    InPieces pieces{text, size % 13 + 1};
    const auto one = field::read_field({{&whole, "field.csv"}}, field::Mapping{});
    const auto other = field::read_field({{&pieces, "field.csv"}}, field::Mapping{});
    fuzz::require(static_cast<bool>(one) == static_cast<bool>(other), "read or not");
    if (!one)
        return 0;
    fuzz::require(one->drops == other->drops && one->rows_bad == other->rows_bad, "the counts");
    fuzz::require(one->lines.size() == other->lines.size(), "passes and rows");
    return 0;
}
