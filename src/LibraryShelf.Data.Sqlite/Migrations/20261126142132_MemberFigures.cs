using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class MemberFigures : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "DropUptakes",
                columns: table => new
                {
                    DropId = table.Column<long>(type: "INTEGER", nullable: false),
                    Holders = table.Column<int>(type: "INTEGER", nullable: false),
                    After1 = table.Column<int>(type: "INTEGER", nullable: false),
                    After7 = table.Column<int>(type: "INTEGER", nullable: false),
                    After30 = table.Column<int>(type: "INTEGER", nullable: false),
                    ByNow = table.Column<int>(type: "INTEGER", nullable: false),
                    Changed = table.Column<long>(type: "INTEGER", nullable: false),
                    Rolled = table.Column<long>(type: "INTEGER", nullable: false),
                    RolledAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DropUptakes", x => x.DropId);
                });

            migrationBuilder.CreateTable(
                name: "FailedRenewals",
                columns: table => new
                {
                    PaidMembershipId = table.Column<long>(type: "INTEGER", nullable: false),
                    Since = table.Column<long>(type: "INTEGER", nullable: false),
                    RecoveredAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_FailedRenewals", x => new { x.PaidMembershipId, x.Since });
                });

            migrationBuilder.CreateTable(
                name: "KeptCounts",
                columns: table => new
                {
                    Figure = table.Column<string>(type: "TEXT", nullable: false),
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    N = table.Column<int>(type: "INTEGER", nullable: false),
                    IsPaid = table.Column<bool>(type: "INTEGER", nullable: false),
                    Count = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_KeptCounts", x => new { x.Figure, x.Month, x.N, x.IsPaid });
                });

            migrationBuilder.CreateTable(
                name: "MonthIncomes",
                columns: table => new
                {
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    Currency = table.Column<string>(type: "TEXT", nullable: false),
                    Minor = table.Column<long>(type: "INTEGER", nullable: false),
                    Memberships = table.Column<int>(type: "INTEGER", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthIncomes", x => new { x.Month, x.Currency });
                });

            migrationBuilder.CreateTable(
                name: "PersonFirsts",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    FreeAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PersonFirsts", x => x.PersonId);
                });

            // What was finished before it was kept.
            migrationBuilder.Sql("""
                INSERT INTO "PersonFirsts" ("PersonId", "FreeAt")
                SELECT d."PersonId", min(t."FinishedAt") FROM "Downloads" d JOIN "DownloadTallies" t ON t."DownloadId" = d."Id"
                WHERE d."PersonId" IS NOT NULL AND d."Why" = 'Free' AND t."FinishedAt" IS NOT NULL
                GROUP BY d."PersonId";
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "DropUptakes");

            migrationBuilder.DropTable(
                name: "FailedRenewals");

            migrationBuilder.DropTable(
                name: "KeptCounts");

            migrationBuilder.DropTable(
                name: "MonthIncomes");

            migrationBuilder.DropTable(
                name: "PersonFirsts");
        }
    }
}
