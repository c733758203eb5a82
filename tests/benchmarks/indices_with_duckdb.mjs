// The spacing indices of every channel's gate 1 with DuckDB, for comparison: no CRC, no seals, no ledger, no travel (the time
// between two pulses at the nominal speed). usage: node indices_with_duckdb.mjs LOG [THREADS]
import { DuckDBInstance } from '@duckdb/node-api';

const [log, threads = '2'] = process.argv.slice(2);
const instance = await DuckDBInstance.create(':memory:', { threads });
const connection = await instance.connect();
const reader = await connection.runAndReadAll(`
  with pulses as (
    select row_number() over () as n, string_split(line, ',') as field
    from read_csv('${log}', columns = {'line': 'varchar'}, header = false, delim = '\\t', quote = '', escape = '', auto_detect = false)
    where line like 'pulse,%'),
  seen as (select n, field[3]::bigint as tick, field[4]::int as channel from pulses where field[5] = '1'),
  spacings as (
    select channel, ((tick - lag(tick) over (partition by channel order by n) + 4294967296) % 4294967296) * 1.8 / 180000.0 as x
    from seen)
  select channel, count(x) as spacings,
    count(*) filter (x <= 0.5) as multiples, count(*) filter (x > 0.5 and x <= 1.5) as singles,
    count(*) filter (x > 1.5 and x <= 2.5) as one_missed, count(*) filter (x > 2.5 and x <= 3.5) as two_missed,
    count(*) filter (x > 3.5) as more_missed, stddev_samp(x) filter (x > 0.5 and x <= 1.5) as precision
  from spacings where x is not null group by channel order by channel`);
for (const row of reader.getRowsJson())
  console.log(row.join(','));
