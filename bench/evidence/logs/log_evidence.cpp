#include "bench/evidence/logs/log_evidence.hpp"

#include "analysis/droplog/seal.hpp"

#include <vector>

namespace dropledger::evidence {

namespace {

// Hashes what is read through it, and follows its story.
class HashingSource final : public ByteSource {
public:
    explicit HashingSource(ByteSource& source) : source_(source) {}

    [[nodiscard]] Result<std::size_t> read(std::span<char> room) override {
        auto size = source_.read(room);
        if (size) {
            digest_.add({room.data(), *size});
            lines_.add({room.data(), *size});
        } else
            failed_ = size.error();
        return size;
    }
    // What a reader that gave up left unread belongs to the hash too.
    [[nodiscard]] Result<std::string> finish() {
        std::vector<char> room(std::size_t{1} << 16U);
        for (std::size_t size = 1; size > 0 && !failed_;)
            if (const auto got = read(room))
                size = *got;
        if (failed_)
            return *failed_;
        return droplog::to_hex(digest_.finish());
    }

    [[nodiscard]] LogStory story() { return lines_.finish(); }

private:
    ByteSource& source_;
    droplog::Digest digest_;
    StoryReader lines_;
    std::optional<Error> failed_;
};

} // namespace

Result<LogEvidence> read_evidence(const OpenBytes& open, const std::string& name) {
    const auto source = open();
    if (!source)
        return source.error();
    HashingSource hashing(**source);
    LogEvidence found;
    auto reading = droplog::check_log(hashing, name);
    auto hash = hashing.finish();
    if (!hash)
        return hash.error();
    found.sha256 = *std::move(hash);
    found.story = hashing.story();
    if (reading)
        found.reading = *std::move(reading);
    else
        found.unreadable = reading.error().what;
    return found;
}

Result<TextEvidence> read_text(const OpenBytes& open) {
    constexpr std::size_t longest = std::size_t{1} << 20U;
    const auto source = open();
    if (!source)
        return source.error();
    auto text = read_whole(**source, longest);
    if (!text)
        return text.error();
    std::string hash = droplog::to_hex(droplog::sha256(*text));
    return TextEvidence{*std::move(text), std::move(hash)};
}

} // namespace dropledger::evidence
