// One conversion: holds changes back until it is known how far apart the samples lie, then writes the
// log's head and lets the converter work.
//
// Units: picoseconds; the first time that is told is the log's time 0.
#pragma once

#include "bench/capture/capture.hpp"
#include "bench/capture/resolution.hpp"

#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::capture {

class Session final : public ChangeSink {
public:
    Session(const Request& request, std::string sha256);

    [[nodiscard]] Status change(const Change& change) override;
    [[nodiscard]] Status until(std::int64_t at_ps) override;
    [[nodiscard]] Result<Captured> finish(const Extent& extent);

private:
    [[nodiscard]] Status begin();
    [[nodiscard]] Status check_step() const;
    [[nodiscard]] DropSettings drop_settings() const;
    void write_head();
    void write_foot(const Captured& captured);
    [[nodiscard]] std::vector<std::string> doubts(const Captured& captured) const;

    const Request& request_;
    std::string sha256_;
    std::string run_id_;
    droplog::Writer writer_;
    Resolution seen_;
    std::int64_t step_ps_ = 0;
    std::optional<std::int64_t> origin_ps_;
    std::vector<Change> early_;
    std::unique_ptr<Converter> converter_; // once the head is written
};

} // namespace dropledger::capture
