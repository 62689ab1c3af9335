/**
 * SQLite as Node brings it, for the query builder: no native build. Another database is another dialect
 * with the same tables; nothing outside this folder knows which it is.
 */
import type { DatabaseSync, SQLInputValue } from "node:sqlite";
import {
  CompiledQuery,
  type DatabaseConnection,
  type Driver,
  type SqliteDatabase,
  SqliteDialect,
  SqliteDriver,
} from "kysely";

export class NodeSqliteDialect extends SqliteDialect {
  readonly #database: SqliteDatabase;

  constructor(database: DatabaseSync) {
    const adapted = adapt(database);
    super({ database: adapted });
    this.#database = adapted;
  }

  override createDriver(): Driver {
    return new EagerDriver({ database: this.#database });
  }
}

/**
 * A transaction here writes. Begun as a reader it could find, at its first write, that another program
 * wrote meanwhile, and then no waiting helps (https://www.sqlite.org/lang_transaction.html, 2.2).
 */
class EagerDriver extends SqliteDriver {
  override async beginTransaction(connection: DatabaseConnection): Promise<void> {
    await connection.executeQuery(CompiledQuery.raw("begin immediate"));
  }
}

function adapt(database: DatabaseSync): SqliteDatabase {
  return {
    close: () => database.close(),
    prepare: (sql) => {
      const statement = database.prepare(sql);
      return {
        reader: statement.columns().length > 0,
        all: (values) => statement.all(...values.map(bound)),
        run: (values) => statement.run(...values.map(bound)),
        iterate: (values) => statement.iterate(...values.map(bound)),
      };
    },
  };
}

function bound(value: unknown): SQLInputValue {
  if (value === null || typeof value === "number" || typeof value === "string") return value;
  if (typeof value === "bigint") return value;
  throw new TypeError(`Expected text, a number or nothing for the index, got ${typeof value}.`);
}
