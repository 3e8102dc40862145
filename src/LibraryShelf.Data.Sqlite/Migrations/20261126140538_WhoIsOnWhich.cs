using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
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
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    Words = table.Column<string>(type: "TEXT", nullable: false),
                    AskedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    AfterReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    AfterPersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Written = table.Column<int>(type: "INTEGER", nullable: false),
                    DoneAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_BehindLetters", x => x.ReleaseId);
                });

            migrationBuilder.CreateTable(
                name: "PersonVersions",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    FromReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    NextReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    LatestThenId = table.Column<long>(type: "INTEGER", nullable: false),
                    Since = table.Column<long>(type: "INTEGER", nullable: false),
                    Day = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PersonVersions", x => new { x.PersonId, x.LibraryId, x.ReleaseId });
                });

            migrationBuilder.CreateTable(
                name: "VersionMarks",
                columns: table => new
                {
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_VersionMarks", x => x.PersonId);
                });

            migrationBuilder.CreateTable(
                name: "VersionMoves",
                columns: table => new
                {
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    FromReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    LatestThenId = table.Column<long>(type: "INTEGER", nullable: false),
                    People = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_VersionMoves", x => new { x.LibraryId, x.Day, x.FromReleaseId, x.ReleaseId, x.LatestThenId });
                });

            migrationBuilder.CreateTable(
                name: "VersionRolls",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false),
                    By = table.Column<string>(type: "TEXT", nullable: false),
                    After = table.Column<long>(type: "INTEGER", nullable: true),
                    Published = table.Column<int>(type: "INTEGER", nullable: false),
                    LookedAt = table.Column<long>(type: "INTEGER", nullable: false)
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
