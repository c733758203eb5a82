// The mechanic's pages: bench and machines, a run, its verdict, the sheet, units over the seasons.
//
// Assumes: `folder` holds logs (*.droplog) and machines' settings (*.toml); a name on a page is the
// name of a file in it, never a way to another folder.
#pragma once

#include "bench/commands/run/job/run_output.hpp"
#include "bench/commands/setup/machine_file.hpp"
#include "bench/station/mechanic/bench_work.hpp"
#include "bench/station/mechanic/place.hpp"
#include "bench/station/mechanic/virtual_bench.hpp"
#include "bench/station/pages/jobs.hpp"
#include "bench/station/server/routes.hpp"

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace dropledger::station {

class Mechanic {
public:
    // `jobs` outlives this.
    Mechanic(Place place, std::optional<std::string> port, EventHub& events, recorder::Clock& clock,
             Jobs& jobs);
    ~Mechanic();

    [[nodiscard]] std::vector<Route> routes();
    [[nodiscard]] std::vector<Route> report_routes();
    [[nodiscard]] std::vector<Route> work_routes();
    [[nodiscard]] BenchWork& work() { return work_; }

private:
    struct Ready; // a run that waits for its confirmation
    struct Offer; // what a try has found, and may be written
    struct Made { // a settings file as this station wrote it
        cli::Machine machine;
        std::string text;
    };
    [[nodiscard]] Response bench_page(const std::string& trouble = {});
    [[nodiscard]] Response choose_port(const Request& request);
    [[nodiscard]] Response begin_virtual_bench();
    [[nodiscard]] Response machine_page(const Request& request, const std::string& trouble = {});
    [[nodiscard]] Response prepare(const Request& request);
    [[nodiscard]] Response prepare_resume(const Request& request);
    [[nodiscard]] Status work_out(Ready& ready);
    [[nodiscard]] std::string what_starts(const Ready& ready) const;
    [[nodiscard]] Response confirm_page(std::shared_ptr<Ready> ready);
    [[nodiscard]] Response start(const Request& request);
    [[nodiscard]] BenchWork::Ending record(const std::shared_ptr<Ready>& ready);
    [[nodiscard]] Result<cli::RunOutcome> carry_out(Ready& ready);
    [[nodiscard]] bool may_start_again(Ready& ready, const cli::RunOutcome& done);
    [[nodiscard]] Response run_page();
    [[nodiscard]] Response setup_page(const Request& request, const std::string& trouble = {});
    [[nodiscard]] Response set_up(const Request& request);
    [[nodiscard]] Response try_machine(const Request& request);
    [[nodiscard]] BenchWork::Ending tried(const cli::ReadBack& back, const cli::Machine& machine,
                                          BenchWork& work);
    void remember_made(const cli::Machine& machine);
    // Empty once the file has another text.
    [[nodiscard]] Made* made_as_it_is(const std::string& file, const std::string& text);
    [[nodiscard]] std::string offer_part();
    [[nodiscard]] Response write_found(const Request& request);
    [[nodiscard]] std::optional<std::string> port() const;

    Place place_;
    mutable std::mutex mutex_;
    std::optional<std::string> port_;
    std::shared_ptr<Ready> ready_;
    std::shared_ptr<Offer> offer_;
    std::map<std::string, Made> made_; // by the file's name
    recorder::Clock& clock_;
    Jobs& jobs_;
    VirtualBench virtual_;
    BenchWork work_;
};

} // namespace dropledger::station
