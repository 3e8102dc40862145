using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class WhoIsOnWhich : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "BehindLetters",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Words = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AskedAt = table.Column<long>(type: "bigint", nullable: false),
                    AfterReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    AfterPersonId = table.Column<long>(type: "bigint", nullable: false),
                    Written = table.Column<int>(type: "integer", nullable: false),
                    DoneAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_BehindLetters", x => x.ReleaseId);
                });

            migrationBuilder.CreateTable(
                name: "PersonVersions",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    FromReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    NextReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    LatestThenId = table.Column<long>(type: "bigint", nullable: false),
                    Since = table.Column<long>(type: "bigint", nullable: false),
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PersonVersions", x => new { x.PersonId, x.LibraryId, x.ReleaseId });
                });

            migrationBuilder.CreateTable(
                name: "VersionMarks",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_VersionMarks", x => x.PersonId);
                });

            migrationBuilder.CreateTable(
                name: "VersionMoves",
                columns: table => new
                {
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    FromReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    LatestThenId = table.Column<long>(type: "bigint", nullable: false),
                    People = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_VersionMoves", x => new { x.LibraryId, x.Day, x.FromReleaseId, x.ReleaseId, x.LatestThenId });
                });

            migrationBuilder.CreateTable(
                name: "VersionRolls",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false),
                    By = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    After = table.Column<long>(type: "bigint", nullable: true),
                    Published = table.Column<int>(type: "integer", nullable: false),
                    LookedAt = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_VersionRolls", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_PersonVersions_LibraryId_NextReleaseId_ReleaseId_PersonId",
                table: "PersonVersions",
                columns: new[] { "LibraryId", "NextReleaseId", "ReleaseId", "PersonId" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "BehindLetters");

            migrationBuilder.DropTable(
                name: "PersonVersions");

            migrationBuilder.DropTable(
                name: "VersionMarks");

            migrationBuilder.DropTable(
                name: "VersionMoves");

            migrationBuilder.DropTable(
                name: "VersionRolls");
        }
    }
}
