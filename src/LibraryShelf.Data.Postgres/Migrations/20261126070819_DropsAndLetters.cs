using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class DropsAndLetters : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "DropDay",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "1",
                collation: "C");

            migrationBuilder.AddColumn<string>(
                name: "DropTime",
                table: "Shops",
                type: "text",
                nullable: false,
                defaultValue: "09:00",
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "HeldSince",
                table: "Shops",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "DropMonths",
                table: "Releases",
                type: "text",
                nullable: false,
                defaultValue: "",
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "AboutId",
                table: "Outbox",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "PersonId",
                table: "Outbox",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "DropId",
                table: "Downloads",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "LetterKey",
                table: "AspNetUsers",
                type: "text",
                nullable: true,
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "DropId",
                table: "Archives",
                type: "bigint",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "Deletions",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    At = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Deletions", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "DropReleases",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    DropId = table.Column<long>(type: "bigint", nullable: false),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Place = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DropReleases", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Drops",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Title = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Note = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Time = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Zone = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    DueAt = table.Column<long>(type: "bigint", nullable: false),
                    State = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    SentAt = table.Column<long>(type: "bigint", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    SlippedAt = table.Column<long>(type: "bigint", nullable: true),
                    SlippedBecause = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    CreatedAt = table.Column<long>(type: "bigint", nullable: false),
                    Revision = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Drops", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Followers",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Email = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    NormalizedEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Key = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AskedAt = table.Column<long>(type: "bigint", nullable: false),
                    ConfirmedAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Followers", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "JobRuns",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    Name = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    StartedAt = table.Column<long>(type: "bigint", nullable: false),
                    EndedAt = table.Column<long>(type: "bigint", nullable: true),
                    Trouble = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_JobRuns", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MailRefusals",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    At = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MailRefusals", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MailSuppressions",
                columns: table => new
                {
                    Id = table.Column<long>(type: "bigint", nullable: false)
                        .Annotation("Npgsql:ValueGenerationStrategy", NpgsqlValueGenerationStrategy.IdentityByDefaultColumn),
                    NormalizedEmail = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Because = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    At = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MailSuppressions", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Outbox_PersonId",
                table: "Outbox",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads",
                column: "DropId");

            migrationBuilder.CreateIndex(
                name: "IX_AspNetUsers_LetterKey",
                table: "AspNetUsers",
                column: "LetterKey",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Archives_DropId",
                table: "Archives",
                column: "DropId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_DropReleases_DropId",
                table: "DropReleases",
                column: "DropId");

            migrationBuilder.CreateIndex(
                name: "IX_DropReleases_ReleaseId",
                table: "DropReleases",
                column: "ReleaseId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Drops_Month",
                table: "Drops",
                column: "Month",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Followers_Key",
                table: "Followers",
                column: "Key",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Followers_LibraryId_NormalizedEmail",
                table: "Followers",
                columns: new[] { "LibraryId", "NormalizedEmail" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_JobRuns_Name",
                table: "JobRuns",
                column: "Name",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MailRefusals_PersonId_Kind",
                table: "MailRefusals",
                columns: new[] { "PersonId", "Kind" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MailSuppressions_NormalizedEmail",
                table: "MailSuppressions",
                column: "NormalizedEmail",
                unique: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Deletions");

            migrationBuilder.DropTable(
                name: "DropReleases");

            migrationBuilder.DropTable(
                name: "Drops");

            migrationBuilder.DropTable(
                name: "Followers");

            migrationBuilder.DropTable(
                name: "JobRuns");

            migrationBuilder.DropTable(
                name: "MailRefusals");

            migrationBuilder.DropTable(
                name: "MailSuppressions");

            migrationBuilder.DropIndex(
                name: "IX_Outbox_PersonId",
                table: "Outbox");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_DropId",
                table: "Downloads");

            migrationBuilder.DropIndex(
                name: "IX_AspNetUsers_LetterKey",
                table: "AspNetUsers");

            migrationBuilder.DropIndex(
                name: "IX_Archives_DropId",
                table: "Archives");

            migrationBuilder.DropColumn(
                name: "DropDay",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "DropTime",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "HeldSince",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "DropMonths",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "AboutId",
                table: "Outbox");

            migrationBuilder.DropColumn(
                name: "PersonId",
                table: "Outbox");

            migrationBuilder.DropColumn(
                name: "DropId",
                table: "Downloads");

            migrationBuilder.DropColumn(
                name: "LetterKey",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "DropId",
                table: "Archives");
        }
    }
}
