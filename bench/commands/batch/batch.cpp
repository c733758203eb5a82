#include "bench/commands/batch/batch.hpp"

#include "bench/commands/batch/batch_commands.hpp"
#include "bench/commands/batch/certificate/certificate.hpp"
#include "bench/commands/batch/opening/opening.hpp"
#include "bench/commands/batch/tables/tables.hpp"

namespace dropledger::cli {

void declare_batch(Command batch) {
    add_batch_units(batch);
    add_batch_open(batch);
    add_batch_choose(batch);
    add_batch_add(batch);
    add_batch_decide(batch);
    add_batch_key(batch);
    add_batch_certificate(batch);
    add_batch_revoke(batch);
    add_batch_pack(batch);
    add_batch_verify(batch);
    add_batch_print(batch);
    add_batch_variables(batch);
    add_batch_trend(batch);
}

} // namespace dropledger::cli
