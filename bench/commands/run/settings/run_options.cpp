#include "bench/commands/run/settings/run_options.hpp"

#include "bench/commands/run/settings/run_fields.hpp"

namespace dropledger::cli {

namespace {

template <class Field> void declare(Command& command, RunOptions& options, const Field& field) {
    std::visit(
        [&](const auto member) {
            command.option(option_name(field.name), options.*member, field.help);
        },
        field.target);
}

void declare_files(Command& command, RunOptions& options) {
    command
        .flag("--calibration-anyway", options.calibration_anyway,
              "take the calibration even where it is for another unit, gate, bench or crop")
        .option("--log", options.log,
                "log to write (default run-TIME.droplog here); never overwritten")
        .option("--key", options.key, "key file (`batch key`) that signs the log at its end")
        .option("--settings", options.settings,
                "TOML file with [run] and [[channel]]; options go over it");
}

void declare_channels(Command& command, RunOptions& options) {
    command
        .option("--unit", options.unit,
                "serial number of a unit, once per channel: CH=SERIAL, or SERIAL in order")
        .option("--channel-mask", options.channel_mask, "the same as a number: bit N is channel N");
    for (const ChannelField& field : channel_fields())
        if (field.for_all)
            declare(command, options, *field.for_all);
    command
        .option("--channel-set", options.channel_set,
                "one channel's setting, CH:KEY=VALUE; goes over the above")
        .option("--set", options.set, "a further setting for the log, KEY=VALUE");
}

void declare_ways(Command& command, RunOptions& options) {
    command.option("--resume", options.resume, "go on with the run of this log")
        .flag("--until-decided", options.until_decided,
              "stop as soon as misses and multiples are decided by the profile's [sequential] "
              "levels")
        .flag("--yes", options.yes, "the cautions are heeded: start without asking")
        .flag("--discard-held", options.discard_held,
              "give up what the controller still holds of an earlier run")
        .flag("--list-ports", options.list_ports, "show the serial ports and end")
        .flag("--probe", options.probe, "with --list-ports: ask each port whether a bench answers")
        .option("--diagnostics", options.diagnostics,
                "file for what goes on, with details; turns over at 5 MB")
        .flag("--verbose", options.verbose, "details on standard error too")
        .flag("--json", options.json, "print one JSON object and nothing else");
}

} // namespace

void declare_run_fields(Command& command, RunOptions& options) {
    for (const RunField& field : run_fields())
        declare(command, options, field);
}

void declare_run_options(Command& command, RunOptions& options) {
    declare_run_fields(command, options);
    declare_files(command, options);
    declare_channels(command, options);
    declare_ways(command, options);
}

} // namespace dropledger::cli
